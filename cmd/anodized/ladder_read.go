package main

import (
	"bufio"
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

type ladderReadFlags struct {
	coupon    int
	lab, from string
	asJSON    bool
}

func newLadderReadCommand(e env) *cobra.Command {
	f := &ladderReadFlags{}
	command := &cobra.Command{
		Use:   "read LADDER.yaml",
		Short: "take the colours of a ladder's coupons, typed one by one or from an instrument's file",
		Long: "Asks for the colour of each coupon that has none, as CIELAB under D65 for the 2 degree\n" +
			"observer, and writes it into the ladder file. An empty line leaves a coupon for later, q ends.\n" +
			"--from takes them from a file instead: CSV, CGATS.17 text or CxF3; a reading belongs to the\n" +
			"coupon with its volts.",
		Example: `  anodized ladder read ladder.yaml
  anodized ladder read ladder.yaml --from instrument.cxf
  anodized ladder read ladder.yaml --coupon 3 --lab "58.2, -6.9, -32.4"`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return readLadder(e, f, args[0]) },
	}
	flags := command.Flags()
	flags.IntVar(&f.coupon, "coupon", 0, "this coupon alone")
	flags.StringVar(&f.lab, "lab", "", `with --coupon: its colour, "L,a,b"`)
	flags.StringVar(&f.from, "from", "", "file of readings, or -")
	flags.BoolVar(&f.asJSON, "json", false, "print one JSON object")
	return command
}

func readLadder(e env, f *ladderReadFlags, file string) error {
	ladder, err := openLadder(file, e)
	if err != nil {
		return err
	}
	var labs map[int][3]float64
	switch {
	case f.from != "" && (f.coupon != 0 || f.lab != ""):
		err = errors.New("--from reads a file; --coupon and --lab are for one coupon that is typed")
	case f.lab != "" && f.coupon == 0:
		err = errors.New("--lab is of one coupon: name it with --coupon")
	case f.coupon < 0 || f.coupon > len(ladder.Coupons):
		err = fmt.Errorf("--coupon %d: the ladder has coupons 1 to %d", f.coupon, len(ladder.Coupons))
	case f.from != "":
		labs, err = labsFrom(e, f.from, ladder)
	case f.lab != "":
		var lab [3]float64
		lab, err = parseLab(f.lab)
		labs = map[int][3]float64{f.coupon - 1: lab}
	default:
		labs, err = askLabs(e, ladder, f.coupon-1)
	}
	if err != nil {
		return badInput(err)
	}
	if err := keepLabs(file, labs); err != nil {
		return err
	}
	return sayRead(e, f, file, len(labs))
}

func keepLabs(file string, labs map[int][3]float64) error {
	if len(labs) == 0 {
		return nil
	}
	return changeLadder(file, func(l *profiles.Ladder) error {
		for coupon, lab := range labs {
			if coupon >= len(l.Coupons) {
				return fmt.Errorf("%s has %d coupons only", file, len(l.Coupons))
			}
			l.Coupons[coupon].Lab = &lab
		}
		return nil
	})
}

func sayRead(e env, f *ladderReadFlags, file string, taken int) error {
	ladder, err := openLadder(file, e)
	if err != nil {
		return err
	}
	missing := []int{}
	for i, c := range ladder.Coupons {
		if c.Lab == nil {
			missing = append(missing, i+1)
		}
	}
	if f.asJSON {
		return printJSON(e.stdout, map[string]any{"ladder": ladder.ID, "taken": taken, "missing_coupons": missing})
	}
	next := "anodized ladder fit " + file
	if len(missing) > 0 {
		next = fmt.Sprintf("coupons without a colour: %v", missing)
	}
	_, err = fmt.Fprintf(e.stdout, "%d colours taken; %s\n", taken, next)
	return err
}

// labsFrom finds the coupons that the readings of a file are of.
func labsFrom(e env, from string, l profiles.Ladder) (map[int][3]float64, error) {
	readings, err := profiles.OpenReadings(from, e.stdin)
	if err == nil {
		err = profiles.WithVolts(readings)
	}
	if err != nil {
		return nil, err
	}
	labs, notes, err := colour.Readings(readings)
	if err != nil {
		return nil, err
	}
	found := map[int][3]float64{}
	for i, r := range readings {
		coupon := couponAt(l, r.Volts)
		if coupon < 0 {
			return nil, profiles.Mistakes{r.At.Mistake(fmt.Sprintf("no coupon of the ladder %s has %s", l.ID, unit.Format(r.Volts)))}
		}
		if _, twice := found[coupon]; twice {
			return nil, profiles.Mistakes{r.At.Mistake(fmt.Sprintf("a second reading of the coupon at %s: leave one", unit.Format(r.Volts)))}
		}
		found[coupon] = labs[i].Array()
	}
	for _, note := range notes {
		if _, err := fmt.Fprintf(e.stderr, "anodized: %s\n", note); err != nil {
			return nil, err
		}
	}
	return found, nil
}

func couponAt(l profiles.Ladder, v unit.Volts) int {
	for i, c := range l.Coupons {
		if math.Abs(float64(c.Volts-v)) < 0.005 {
			return i
		}
	}
	return -1
}

// askLabs asks for the colours that are missing, or for that of one coupon.
func askLabs(e env, l profiles.Ladder, one int) (map[int][3]float64, error) {
	if e.stdin == nil {
		return nil, errors.New("nobody is there to type: give --from, or --coupon and --lab")
	}
	labs, lines := map[int][3]float64{}, bufio.NewScanner(e.stdin)
	for i, c := range l.Coupons {
		if one >= 0 && i != one || one < 0 && c.Lab != nil {
			continue
		}
		for {
			if _, err := fmt.Fprintf(e.stderr, "coupon %d of %d, %s: L, a, b? ", i+1, len(l.Coupons), unit.Format(c.Volts)); err != nil {
				return labs, err
			}
			if !lines.Scan() {
				return labs, lines.Err()
			}
			line := strings.TrimSpace(lines.Text())
			if line == "q" {
				return labs, nil
			}
			if line == "" {
				break
			}
			lab, err := parseLab(line)
			if err == nil {
				labs[i] = lab
				break
			}
			if _, err := fmt.Fprintf(e.stderr, "  %v\n", err); err != nil {
				return labs, err
			}
		}
	}
	return labs, nil
}

// parseLab reads three numbers, parted by commas or by space.
func parseLab(text string) ([3]float64, error) {
	parts := strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' || c == ' ' || c == '\t' })
	lab, err := labOf(strings.Join(parts, ","))
	if err != nil {
		err = fmt.Errorf(`%q is no colour: %w: three numbers, L from 0 to 100, a and b from -150 to 150, as in "58.2, -6.9, -32.4"`, text, err)
	}
	return lab.Array(), err
}
