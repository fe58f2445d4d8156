package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"strings"
	"time"

	"anodized/controller/calibrate"
	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// ladderFit is a fit with all that it is made from.
type ladderFit struct {
	flags       *ladderFitFlags
	metal       profiles.Metal
	readings    []profiles.ColourReading
	coloured    []colouredCoupon // by the ladder file
	ran         shelf            // the journal with their runs; "": none is there
	runs        []string         // of these, what the journal has
	ladder      calibrate.Ladder
	fit         calibrate.Fit
	tables      []calibrate.Pair // that were tried, best first; nil: none were
	calibration profiles.Calibration
	notes       []string            // beside those of the fit
	end         unit.CurrentDensity // of the ladder file; 0 where there is none
	softness    float64             // u, of the ladder's own runs; 0: not known
	softnessSD  float64
	saved       bool
}

func openLadderFit(e env, f *ladderFitFlags, file string) (*ladderFit, error) {
	w := &ladderFit{flags: f}
	for _, step := range []func() error{
		func() error { return w.read(e, file) },
		func() (err error) {
			w.metal, err = profiles.OpenMetal(or(f.metal, profiles.DefaultMetal), e.stdin)
			return
		},
		w.openTables,
		w.openEnd,
		w.openBath,
		func() error { return w.openSoftness(e) },
		w.colours,
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// openBath finds the id of the bath, where one is named.
func (w *ladderFit) openBath() error {
	if w.flags.bath == "" {
		return nil
	}
	bath, err := profiles.OpenBath(w.flags.bath, nil)
	w.flags.bath = bath.ID
	return err
}

func (w *ladderFit) read(e env, file string) (err error) {
	if file == "-" && w.flags.metal == "-" {
		return errors.New("the readings and --metal are both -: standard input holds one file")
	}
	content, err := profiles.ReadFile(file, e.stdin)
	if err != nil {
		return err
	}
	if kind, err := profiles.Kind(file, content); err == nil && kind == profiles.KindLadder {
		return w.readLadder(file, content)
	}
	if w.readings, err = profiles.ReadReadings(file, content); err == nil {
		err = profiles.WithVolts(w.readings)
	}
	return err
}

// readLadder takes the readings of a ladder file, and what it says of the rest.
func (w *ladderFit) readLadder(file string, content []byte) error {
	l, err := profiles.ReadLadder(file, content)
	if err != nil {
		return err
	}
	f := w.flags
	f.metal, f.bath, f.finish = or(f.metal, l.Metal), or(f.bath, l.Bath), or(f.finish, l.Finish)
	f.simulated = f.simulated || l.Simulated()
	if !f.ramp.Given {
		f.ramp.Value = l.Ramp
	}
	var missing []int
	for i, c := range l.Coupons {
		if c.Lab == nil {
			missing = append(missing, i+1)
			continue
		}
		// The end is the criterion, not what the density had sunk to while it was sustained:
		// plans reckon by the criterion, too.
		reading := profiles.ColourReading{Part: l.CouponName(i), Volts: c.Volts, End: l.End.CurrentDensity, Lab: c.Lab, At: profiles.Place{File: file, Line: 1, Column: 1}}
		reading.Illuminant, reading.Observer = "D65", "2"
		w.readings = append(w.readings, reading)
		if c.Run != "" {
			w.coloured = append(w.coloured, colouredCoupon{c.Run, l.CouponName(i)})
		}
	}
	if len(missing) > 0 {
		w.note("coupons without a colour: %v: anodized ladder read %s", missing, file)
	}
	w.end = l.End.CurrentDensity
	return nil
}

func (w *ladderFit) openTables() (err error) {
	l := &w.ladder
	if l.Film, err = profiles.OpticalConstants(or(w.flags.film, w.metal.Film)); err != nil {
		return err
	}
	if l.Substrate, err = profiles.OpticalConstants(or(w.flags.substrate, w.metal.Substrate)); err != nil {
		return err
	}
	l.Observer = profiles.Observer()
	l.Light, err = profiles.Illuminant("D65")
	l.Law = film.FromGrowth(w.metal.Growth)
	l.Scale = scaleChoices[w.flags.scale]
	return err
}

// openEnd finds the end that the calibration is for: what was asked for, else what most
// readings say, else that of the default profile, which is said.
func (w *ladderFit) openEnd() error {
	book, err := profiles.OpenCalibration(w.metal.Book, nil)
	if err != nil {
		return err
	}
	w.ladder.Range = calibrate.RangeOf(w.metal, book.NMPerVolt)
	if w.ladder.End = w.flags.end.Value; w.ladder.End == 0 {
		w.ladder.End = w.end
	}
	if w.ladder.End == 0 {
		w.ladder.End = w.commonEnd()
	}
	if w.ladder.End > 0 {
		return nil
	}
	profile, err := profiles.OpenProfile(profiles.DefaultProfile, nil)
	w.ladder.End = profile.End.CurrentDensity
	w.note("the readings do not say at which current density the hold ended, and neither does --end: taken as the %s of the profile %q; with another end the volts are wrong", unit.Format(w.ladder.End), profile.Name)
	return err
}

// commonEnd is the end that most readings were made with; of several the lower. 0 where
// none says it.
func (w *ladderFit) commonEnd() unit.CurrentDensity {
	counts, best := map[unit.CurrentDensity]int{}, unit.CurrentDensity(0)
	for _, r := range w.readings {
		if end := r.End; !math.IsNaN(float64(end)) {
			counts[end]++
			if n := counts[end]; n > counts[best] || n == counts[best] && end < best {
				best = end
			}
		}
	}
	return best
}

func (w *ladderFit) note(format string, args ...any) {
	w.notes = append(w.notes, fmt.Sprintf(format, args...))
}

// colours makes the readings what the fit takes.
func (w *ladderFit) colours() error {
	labs, notes, err := colour.Readings(w.readings)
	if err != nil {
		return err
	}
	w.notes = append(w.notes, notes...)
	for i, r := range w.readings {
		reading := calibrate.Reading{Volts: r.Volts, Lab: labs[i], Spot: r.Name()}
		if !math.IsNaN(float64(r.End)) {
			reading.End = r.End
		}
		w.ladder.Readings = append(w.ladder.Readings, reading)
	}
	return nil
}

// fitIt fits, with the tables that describe the readings best where that is wanted, and
// looks for better ones where the usual do not.
func (w *ladderFit) fitIt() (err error) {
	if w.flags.chooseTables {
		if err := w.tryTables(); err != nil {
			return err
		}
		w.ladder.Film, w.ladder.Substrate = w.tables[0].Film, w.tables[0].Substrate
	}
	if w.fit, err = calibrate.FitLadder(w.ladder); err != nil {
		return err
	}
	if w.fit.RMS > clearlyOff && w.tables == nil {
		err = w.suggestTables()
	}
	w.name()
	return err
}

// clearlyOff is the CIEDE2000 from which on other tables are looked for.
const clearlyOff = 1.5

func (w *ladderFit) tryTables() (err error) {
	films, err := tablesLike(w.metal.Film)
	if err != nil {
		return err
	}
	substrates, err := tablesLike(w.metal.Substrate)
	if err == nil {
		w.tables, err = calibrate.Pairs(w.ladder, films, substrates)
	}
	return err
}

func (w *ladderFit) suggestTables() error {
	if err := w.tryTables(); err != nil {
		return err
	}
	if best := w.tables[0]; best.RMS < w.fit.RMS/2 {
		w.note("%s on %s describes these readings better (CIEDE2000 %.1f in the mean instead of %.1f): --choose-tables, or --film %s --substrate %s", best.Film.ID, best.Substrate.ID, best.RMS, w.fit.RMS, best.Film.ID, best.Substrate.ID)
	}
	return nil
}

// tablesLike opens the embedded tables of the same stuff: their names begin alike.
func tablesLike(id string) (tables []profiles.Table, err error) {
	stuff, _, _ := strings.Cut(id, "-")
	for _, other := range profiles.OpticalIDs() {
		if !strings.HasPrefix(other, stuff+"-") {
			continue
		}
		table, err := profiles.OpticalConstants(other)
		if err != nil {
			return nil, err
		}
		tables = append(tables, table)
	}
	return tables, nil
}

// name completes the calibration: what it is called, and where it comes from.
func (w *ladderFit) name() {
	f := w.flags
	c := w.fit.Calibration(w.ladder.Film, w.ladder.Substrate)
	c.Date = or(f.date, time.Now().Format(time.DateOnly))
	c.ID = or(f.id, "ladder-"+c.Date)
	c.Metal, c.Bath, c.Finish, c.Simulated = w.metal.ID, f.bath, f.finish, f.simulated
	c.Ramp, c.Temperature = f.ramp.Value, f.temperature.Value
	c.Softness, c.SoftnessSD = w.softness, w.softnessSD
	c.Provenance = fmt.Sprintf("ladder of %d coupons, %s; %d readings used, CIEDE2000 %.2f in the mean", len(w.readings), c.Date, c.Readings, c.RMSDE00)
	if c.Simulated {
		c.Provenance = "SIMULATED " + c.Provenance
	}
	if w.fit.Verdict == calibrate.Local {
		c.Provenance += "; good between its own volts only"
	}
	w.calibration = c
}

// keep writes the calibration to where it was asked for.
func (w *ladderFit) keep(e env) error {
	if path := w.flags.out; path != "" {
		content := w.calibration.Text()
		if _, err := profiles.ReadCalibration(path, content); err != nil {
			return notRight(fmt.Errorf("--out: the calibration cannot be written so that it reads back: %w", err))
		}
		if err := writeNew(path, content); err != nil {
			return badInput(fmt.Errorf("--out: %w", err))
		}
	}
	if !w.flags.save {
		return nil
	}
	return w.saveIt(e)
}

// writeNew writes a file that must not be there yet, or says the same.
func writeNew(path string, content []byte) error {
	if there, err := profiles.ReadFile(path, nil); !errors.Is(err, fs.ErrNotExist) && (err != nil || !bytes.Equal(there, content)) {
		return fmt.Errorf("%s is there already, and is not overwritten: give another name", path)
	}
	return os.WriteFile(path, content, 0o644)
}

func (w *ladderFit) saveIt(e env) error {
	path, err := journalPath(e, w.flags.journal)
	if err != nil {
		return err
	}
	kept, err := journal.Open(path, journal.Options{})
	if err != nil {
		return cannot(fmt.Errorf("open the journal: %w", err))
	}
	err = kept.SaveCalibration(record.KeptCalibration{SavedAt: time.Now(), By: w.flags.by, Note: w.flags.note,
		Calibration: w.calibration, Runs: w.runs, Readings: w.readings})
	w.saved = err == nil
	if errors.Is(err, journal.ErrKept) || errors.Is(err, journal.ErrRefused) {
		return badInput(errors.Join(err, kept.Close()))
	}
	if err := errors.Join(err, kept.Close()); err != nil {
		return cannot(err)
	}
	return nil
}
