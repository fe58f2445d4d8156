package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

type ladderRunFlags struct {
	runFlags
	coupon int
}

func newLadderRunCommand(e env) *cobra.Command {
	f := &ladderRunFlags{}
	command := &cobra.Command{
		Use:   "run LADDER.yaml",
		Short: "colour the coupons of a ladder, one load after the other",
		Long: "Colours the coupons that the ladder file has no run for. Each is a load of its own: the tool\n" +
			"says which coupon comes next, waits until the lid was opened and closed, energises, and ends\n" +
			"with the output off. What came of each is written into the ladder file at once, so a ladder\n" +
			"that was broken off goes on where it stopped. A load that does not complete ends it: hang a\n" +
			"fresh coupon, since a film only grows, and call this again.\n\n" +
			"Exit status, Ctrl-C and the rest are as in run.",
		Example: `  anodized ladder run ladder.yaml
  anodized ladder run ladder.yaml --bench bench.yaml --operator Ida
  anodized ladder run ladder.yaml --coupon 3`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			f.speedGiven, f.seedGiven = command.Flags().Changed("speed"), command.Flags().Changed("seed")
			return runLadder(command.Context(), e, f, args[0])
		},
	}
	f.registerAll(command)
	for _, name := range []string{"profile", "rack", "metal", "bath", "from", "new-parts", "stage", "plot"} {
		hide(command, name)
	}
	command.Flags().IntVar(&f.coupon, "coupon", 0, "colour this coupon alone, also where it has a run: a fresh one hangs")
	return command
}

// hide keeps a flag of another command from those who ask for help: the ladder file says
// it.
func hide(command *cobra.Command, name string) {
	if flag := command.Flags().Lookup(name); flag != nil {
		flag.Hidden = true
	}
}

// openLadder reads a ladder file.
func openLadder(file string, e env) (profiles.Ladder, error) {
	content, err := profiles.ReadFile(file, e.stdin)
	if err != nil {
		return profiles.Ladder{}, badInput(err)
	}
	ladder, err := profiles.ReadLadder(file, content)
	if err != nil {
		return profiles.Ladder{}, badInput(err)
	}
	return ladder, nil
}

func runLadder(ctx context.Context, e env, f *ladderRunFlags, file string) error {
	ladder, err := openLadder(file, e)
	if err != nil {
		return err
	}
	next, err := f.next(ladder)
	if err != nil {
		return badInput(err)
	}
	if len(next) == 0 {
		_, err := fmt.Fprintf(e.stderr, "anodized: every coupon of %s has its run: anodized ladder read %s\n", ladder.ID, file)
		return err
	}
	for _, coupon := range next {
		if err := f.colour(ctx, e, file, ladder, coupon); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(e.stderr, "anodized: read the colours now: anodized ladder read %s\n", file)
	return err
}

// next are the coupons that are to be coloured, from 0.
func (f *ladderRunFlags) next(l profiles.Ladder) (coupons []int, err error) {
	if f.coupon != 0 {
		if f.coupon < 1 || f.coupon > len(l.Coupons) {
			return nil, fmt.Errorf("--coupon %d: the ladder has coupons 1 to %d", f.coupon, len(l.Coupons))
		}
		return []int{f.coupon - 1}, nil
	}
	for i, c := range l.Coupons {
		if c.Run == "" {
			coupons = append(coupons, i)
		}
	}
	return coupons, nil
}

// colour does the load of one coupon by the way of every load, and writes down its end.
func (f *ladderRunFlags) colour(ctx context.Context, e env, file string, l profiles.Ladder, coupon int) error {
	load, profile := f.runFlags, l.Profile(coupon)
	load.ready, load.profile, load.rack = &profile, profiles.DefaultProfile, l.Rack
	load.seed += uint64(coupon)
	if load.note == "" {
		load.note = profile.Name
	}
	var ended record.Result
	load.each = func(result record.Result) { ended = result }
	if _, err := fmt.Fprintf(e.stderr, "anodized: %s: %s. Hang a fresh one; then the lid.\n", profile.Name, unit.Format(profile.Target.Volts)); err != nil {
		return err
	}
	err := runLoad(ctx, e, load)
	if err == nil && ended.Outcome != record.Complete {
		err = notRight(fmt.Errorf("%s: the load was stopped before its end: its film is not that of %s", profile.Name, unit.Format(profile.Target.Volts)))
	}
	if err != nil {
		if _, say := fmt.Fprintf(e.stderr, "anodized: the ladder stops here; %s is still to do, with a fresh coupon\n", profile.Name); say != nil {
			err = errors.Join(err, say)
		}
		return err
	}
	return f.keep(file, coupon, ended)
}

// keep writes the end of a coupon's load into the ladder file. An old reading of it is
// of another coupon.
func (f *ladderRunFlags) keep(file string, coupon int, ended record.Result) error {
	return changeLadder(file, func(l *profiles.Ladder) error {
		if coupon >= len(l.Coupons) {
			return fmt.Errorf("%s has %d coupons only", file, len(l.Coupons))
		}
		c := &l.Coupons[coupon]
		c.Run, c.Simulated, c.Lab, c.End = ended.Run, ended.Simulated, nil, l.End.CurrentDensity
		if ended.EndDensity != nil {
			c.End = unit.CurrentDensity(*ended.EndDensity)
		}
		return nil
	})
}

// changeLadder changes a ladder file, all of it or nothing. The remarks at its top stay.
func changeLadder(file string, change func(*profiles.Ladder) error) error {
	err := profiles.Rewrite(file, func(name string, content []byte) ([]byte, error) {
		l, err := profiles.ReadLadder(name, content)
		if err != nil {
			return nil, err
		}
		l.Metal, l.Bath = whole(l.Metal), whole(l.Bath) // were found from the folder of the file
		if err := change(&l); err != nil {
			return nil, err
		}
		return slices.Concat(remarks(content), l.Text()), nil
	})
	if err != nil {
		return badInput(fmt.Errorf("write down what came of the coupon: %w", err))
	}
	return nil
}

// remarks are the lines at the top of a file that begin with #.
func remarks(content []byte) (top []byte) {
	for line := range bytes.Lines(content) {
		if !bytes.HasPrefix(line, []byte("#")) {
			break
		}
		top = append(top, line...)
	}
	return top
}

// whole is the whole path of a file of the shop; an id stays.
func whole(name string) string {
	if filepath.Ext(name) == "" {
		return name
	}
	path, err := filepath.Abs(name)
	if err != nil {
		return name // the folder of this process is gone: the name is what is left
	}
	return path
}
