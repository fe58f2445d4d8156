package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"anodized/controller/calibrate"
	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

type ladderPlanFlags struct {
	planFlags
	over, out, recipes, id, finish string
	coupons                        int
	wide                           bool
	asJSON                         bool
}

func newLadderPlanCommand(e env) *cobra.Command {
	f := &ladderPlanFlags{}
	command := &cobra.Command{
		Use:   "plan",
		Short: "at which volts so many coupons tell most about this bath",
		Long: "Chooses the volts of a ladder: those that leave the least doubt of the film over the range,\n" +
			"denser where the colour turns fast, for all constants that are thought possible, and also\n" +
			"where one coupon turns out wrong. Each coupon is a load of its own by the profile: its ramp,\n" +
			"current density and end, with other volts. It energises nothing.\n\n" +
			"--out writes a ladder file, which ladder run, read, label and fit go on with; --recipes\n" +
			"writes a profile for each coupon, for those who run them one by one.",
		Example: `  anodized ladder plan
  anodized ladder plan --profile my-profile.yaml --rack coupon.yaml --coupons 8 --range "10 V..100 V" --out ladder.yaml
  anodized ladder plan --coupons 5 --range "60 V..90 V" --json`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return planLadder(e, f) },
	}
	f.registerLadder(command.Flags())
	return command
}

func (f *ladderPlanFlags) registerLadder(flags *pflag.FlagSet) {
	f.register(flags)
	if flags.Lookup("stage") != nil {
		if err := flags.MarkHidden("stage"); err != nil {
			panic(fmt.Sprintf("ladder plan: %v", err)) // the flag was just looked up
		}
	}
	flags.Lookup("rack").DefValue, f.rack = couponRack, couponRack
	flags.Lookup("rack").Usage = "rack: one coupon and what holds it; an embedded one by its name, a file, or -"
	flags.StringVar(&f.over, "range", "10 V..100 V", "volts that the calibration is for")
	flags.IntVar(&f.coupons, "coupons", 8, "how many coupons there are")
	flags.BoolVar(&f.wide, "wide", false, "the bath is quite unknown: choose for nm/V up to a fifth from what is believed, whatever the calibration says of itself")
	flags.StringVar(&f.id, "id", "ladder", "name of the ladder, for its label and record")
	flags.StringVar(&f.finish, "finish", "", "finish of the coupons, for the label and the calibration")
	flags.StringVar(&f.out, "out", "", "write a ladder file")
	flags.StringVar(&f.recipes, "recipes", "", "write a profile for each coupon into this folder")
	flags.BoolVar(&f.asJSON, "json", false, "print one JSON object")
}

// couponRack is what hangs in the bath where nothing else was asked for.
const couponRack = "one headset spacer"

// ladderPlan is a ladder before it is run.
type ladderPlan struct {
	flags  *ladderPlanFlags
	frozen frozen
	scale  colour.Scale
	view   *colour.Surface
	design calibrate.Design
	end    unit.CurrentDensity
}

func planLadder(e env, f *ladderPlanFlags) error {
	p, err := openLadderPlan(e, f)
	if err != nil {
		return err
	}
	if err := p.write(); err != nil {
		return badInput(err)
	}
	if f.asJSON {
		return printJSON(e.stdout, p.answer())
	}
	return p.print(e)
}

func openLadderPlan(e env, f *ladderPlanFlags) (*ladderPlan, error) {
	request, kept, err := assemble(f.planFlags, e.stdin)
	if err != nil {
		return nil, err
	}
	p := &ladderPlan{flags: f, frozen: kept, view: request.Surface, end: kept.Profile.End.CurrentDensity}
	if p.end == 0 {
		return nil, badInput(fmt.Errorf("profile %q ends by time: a calibration is for an end current density; take a profile with one", kept.Profile.Name))
	}
	from, to, err := parseRange(f.over)
	if err != nil {
		return nil, badInput(errors.New(strings.ReplaceAll(err.Error(), "--chart", "--range")))
	}
	if highest := request.Supply.HighestVolts; highest > 0 && to > highest {
		return nil, badInput(fmt.Errorf("--range ends at %s, above the %s of this supply", unit.Format(to), unit.Format(highest)))
	}
	c := kept.Calibration
	p.scale = colour.ScaleFor(c, film.FromGrowth(kept.Metal.Growth), p.end)
	p.design, err = calibrate.Plan(p.view, f.wish(c, p.scale, from, to, request.Supply.VoltStep))
	if err != nil {
		return nil, badInput(err)
	}
	return p, nil
}

// wish takes what a measured calibration says of itself for what is believed; of a book
// one nothing but its number.
func (f *ladderPlanFlags) wish(c profiles.Calibration, s colour.Scale, from, to, step unit.Volts) calibrate.Wish {
	w := calibrate.Wish{From: from, To: to, Coupons: f.coupons, Step: step, NMPerVolt: s.NMPerVolt, Offset: s.Offset}
	if !c.Book && !f.wide {
		w.Spread, w.Apart = max(c.NMPerVoltSD, 0.02*s.NMPerVolt), max(c.OffsetSD, 0.5)
	}
	return w
}

// write writes the files that were asked for.
func (p *ladderPlan) write() error {
	ladder := p.ladder()
	if p.flags.out != "" {
		if ladder.Rack == "-" {
			return errors.New("--out: the rack came from standard input, and a ladder file names it: give the rack's file")
		}
		content := ladder.Text()
		if _, err := profiles.ReadLadder(p.flags.out, content); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
		if err := writeNew(p.flags.out, content); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	if p.flags.recipes == "" {
		return nil
	}
	if err := os.MkdirAll(p.flags.recipes, 0o755); err != nil {
		return fmt.Errorf("--recipes: %w", err)
	}
	for i := range ladder.Coupons {
		if err := writeNew(p.recipe(i), ladder.Profile(i).Text()); err != nil {
			return fmt.Errorf("--recipes: %w", err)
		}
	}
	return nil
}

func (p *ladderPlan) recipe(coupon int) string {
	return filepath.Join(p.flags.recipes, fmt.Sprintf("coupon-%02d.yaml", coupon+1))
}

// ladder is the plan as a ladder file keeps it.
func (p *ladderPlan) ladder() profiles.Ladder {
	k := p.frozen
	l := profiles.Ladder{
		ID: p.flags.id, Metal: p.named(p.flags.metal, k.Metal.ID), Bath: p.named(p.flags.bath, k.Bath.ID), Finish: p.flags.finish,
		Rack: p.named(p.flags.rack, p.flags.rack), Ramp: k.Profile.Ramp, CurrentDensity: k.Profile.CurrentDensity, End: k.Profile.End,
	}
	l.End.LongestHold = 0 // the profile's is for its own volts: each coupon's plan works out one for its
	for _, v := range p.design.Volts {
		l.Coupons = append(l.Coupons, profiles.Coupon{Volts: v})
	}
	return l
}

// named is a file of the shop where one was given, by its whole path, else the id.
func (p *ladderPlan) named(given, id string) string {
	if path, err := filepath.Abs(given); err == nil && strings.HasSuffix(given, ".yaml") {
		return path
	}
	return id
}

type ladderPlanAnswer struct {
	Ladder    string              `json:"ladder"`
	Metal     string              `json:"metal"`
	Bath      string              `json:"bath"`
	Finish    string              `json:"finish,omitempty"`
	Profile   string              `json:"profile"`
	Rack      string              `json:"rack"`
	FromVolts unit.Volts          `json:"from_volts"`
	ToVolts   unit.Volts          `json:"to_volts"`
	End       unit.CurrentDensity `json:"end_current_density_ma_cm2"`
	Coupons   []couponAs          `json:"coupons"`
	Expected  ladderExpectedAs    `json:"expected"`
	Simulated bool                `json:"simulated"`
	Out       string              `json:"out,omitempty"`
}

type couponAs struct {
	Coupon    int             `json:"coupon"`
	Volts     unit.Volts      `json:"volts"`
	Thickness unit.Nanometres `json:"thickness_nm"`
	Lab       [3]float64      `json:"Lab"`
	Hex       string          `json:"hex"`
	Name      string          `json:"name"`
	PerVolt   float64         `json:"de00_per_volt"`
	Recipe    string          `json:"recipe,omitempty"`
}

// ladderExpectedAs are standard deviations where readings scatter by 0.5 in L, a and b.
type ladderExpectedAs struct {
	NMPerVoltSD float64         `json:"nm_per_volt_sd"`
	OffsetSD    unit.Nanometres `json:"offset_nm_sd"`
	FilmSD      unit.Nanometres `json:"thickness_nm_sd"`
	EvenFilmSD  unit.Nanometres `json:"thickness_nm_sd_of_even_steps"`
}

func (p *ladderPlan) answer() ladderPlanAnswer {
	d, k := p.design, p.frozen
	a := ladderPlanAnswer{Ladder: p.flags.id, Metal: k.Metal.ID, Bath: k.Bath.ID, Finish: p.flags.finish, Profile: k.Profile.Name, Rack: k.Rack.Name,
		End: p.end, Simulated: k.Bench == nil, Out: p.flags.out,
		Expected: ladderExpectedAs{d.NMPerVoltSD, d.OffsetSD, d.FilmSD, d.EvenFilmSD}}
	a.FromVolts, a.ToVolts = d.Volts[0], d.Volts[len(d.Volts)-1]
	for i, v := range d.Volts {
		view := p.view.At(p.scale, v)
		coupon := couponAs{Coupon: i + 1, Volts: v, Thickness: view.Thickness, Lab: view.Lab.Array(), Hex: view.Screen.Hex(), Name: view.Name, PerVolt: view.PerVolt}
		if p.flags.recipes != "" {
			coupon.Recipe = p.recipe(i)
		}
		a.Coupons = append(a.Coupons, coupon)
	}
	return a
}

func (p *ladderPlan) print(e env) error {
	a := p.answer()
	t := newTable(e.stdout)
	t.row("%s%s\t%s in %s, profile %s, rack %s", simulatedWord(a.Simulated), a.Ladder, p.frozen.Metal.Name, a.Bath, a.Profile, a.Rack)
	t.row("each coupon\tfresh from the same finish, a load of its own; every one ends at %s", unit.Format(a.End))
	t.row("")
	t.row("coupon\tV\tnm\tdE00/V\texpected colour\tscreen")
	for i, c := range a.Coupons {
		t.row("%d\t%.4g\t%.1f\t%.1f\t%s\t%s", c.Coupon, float64(c.Volts), float64(c.Thickness), c.PerVolt, c.Name, onScreen(e, p.view.At(p.scale, p.design.Volts[i]).Screen))
	}
	t.row("")
	t.row("with readings to 0.5 in L, a, b\tnm/V to %.4f, offset to %.2f nm, film over the range to %.3f nm; even steps would give %.3f nm",
		a.Expected.NMPerVoltSD, float64(a.Expected.OffsetSD), float64(a.Expected.FilmSD), float64(a.Expected.EvenFilmSD))
	t.row("colours by calibration %s, which the ladder is to replace", p.frozen.Calibration.ID)
	if p.flags.out != "" {
		t.row("written to %s: anodized ladder label %s, then anodized ladder run %s", p.flags.out, p.flags.out, p.flags.out)
	}
	return t.done()
}
