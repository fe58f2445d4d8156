package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/profiles"
)

// shelf is where the calibrations of the shop stand: a journal; "" is none.
type shelf string

// named opens the calibration that an argument names: one that the journal keeps, an
// embedded one, a file, or - for standard input. It says which of these it was.
func (s shelf) named(arg string, stdin io.Reader) (profiles.Calibration, plan.Choice, error) {
	one, err := s.keeps(arg)
	if err == nil {
		return one, plan.Choice{By: plan.ByName, Why: fmt.Sprintf("named, from the journal %s", s)}, nil
	}
	if !errors.Is(err, journal.ErrNotKept) {
		return one, plan.Choice{}, err
	}
	if one, err = openCalibrationFile(arg, stdin); err != nil {
		return one, plan.Choice{}, s.alsoKnown(arg, err)
	}
	where := "embedded"
	if one.ID != arg {
		where = "as " + arg
	}
	return one, plan.Choice{By: plan.ByName, Why: "named, " + where}, nil
}

// keeps is ErrNotKept where there is no journal, or none of that id in it.
func (s shelf) keeps(id string) (one profiles.Calibration, err error) {
	err = s.read(func(r *journal.Reader) error {
		kept, err := r.Calibration(id)
		one = kept.Calibration
		return err
	})
	if errors.Is(err, journal.ErrNoJournal) {
		err = journal.ErrNotKept
	}
	return one, err
}

// keptOrFile opens a calibration that a journal keeps, or an embedded one or a file as it
// stands.
func keptOrFile(e env, journalFlag, arg string) (profiles.Calibration, error) {
	path, err := placeOfHistory(e, journalFlag)
	if err != nil {
		return profiles.Calibration{}, err
	}
	from := shelf(path)
	one, err := from.keeps(arg)
	if !errors.Is(err, journal.ErrNotKept) && !errors.Is(err, journal.ErrDamaged) {
		return one, err
	}
	damage := err
	if one, err = profiles.OpenCalibration(arg, e.stdin); err == nil {
		return one, nil
	}
	if errors.Is(damage, journal.ErrDamaged) {
		return one, fmt.Errorf("%w; and the journal was not asked, for it is damaged: anodized journal verify says where", err)
	}
	return one, from.alsoKnown(arg, err)
}

// read opens the journal to read; ErrNoJournal where there is none.
func (s shelf) read(use func(*journal.Reader) error) error {
	if s == "" {
		return journal.ErrNoJournal
	}
	reader, err := openReading(string(s))
	if err != nil {
		return err
	}
	return errors.Join(use(reader), reader.Close())
}

func (s shelf) all() (all []profiles.Calibration, err error) {
	err = s.read(func(r *journal.Reader) error {
		kept, err := r.Calibrations()
		for _, one := range kept {
			all = append(all, one.Calibration)
		}
		return err
	})
	if errors.Is(err, journal.ErrNoJournal) {
		err = nil
	}
	return all, err
}

// alsoKnown adds to a message about a name what the journal keeps.
func (s shelf) alsoKnown(arg string, err error) error {
	all, reading := s.all()
	if reading != nil || len(all) == 0 || strings.ContainsAny(arg, `/\`) {
		return err
	}
	ids := make([]string, len(all))
	for i, one := range all {
		ids[i] = one.ID
	}
	return fmt.Errorf("%w; the journal keeps: %s", err, strings.Join(ids, ", "))
}

// choose finds the calibration of the shop that fits a load best, or else the metal's
// book one. A journal that is damaged is not asked, and that is said.
func (s shelf) choose(key plan.Key, book string) (profiles.Calibration, plan.Choice, error) {
	all, err := s.all()
	if err == nil {
		if best, choice, found := plan.Choose(key, all); found {
			return best, choice, nil
		}
	}
	choice := plan.Choice{By: plan.ByBook, Why: fmt.Sprintf("no calibration of the shop is for %s in %s", key.Metal, key.Bath)}
	if errors.Is(err, journal.ErrDamaged) {
		choice.Why = "calibrations of the shop were not asked, for the journal is damaged: anodized journal verify says where"
	} else if err != nil {
		return profiles.Calibration{}, choice, fmt.Errorf("look for calibrations of the shop: %w", err)
	}
	one, err := openCalibrationFile(book, nil)
	return one, choice, err
}

// openCalibrationFile opens an embedded calibration or a file; what it names by a file it
// is told by id.
func openCalibrationFile(arg string, stdin io.Reader) (profiles.Calibration, error) {
	c, err := profiles.OpenCalibration(arg, stdin)
	if err != nil {
		return c, err
	}
	metal, err := profiles.OpenMetal(c.Metal, nil)
	if err != nil {
		return c, fmt.Errorf("calibration %q names its metal: %w", c.ID, err)
	}
	c.Metal = metal.ID
	if c.Bath == "" {
		return c, nil
	}
	bath, err := profiles.OpenBath(c.Bath, nil)
	if err != nil {
		return c, fmt.Errorf("calibration %q names its bath: %w", c.ID, err)
	}
	c.Bath = bath.ID
	return c, nil
}

// openCalibration opens the calibration that is named, or chooses one.
func (k *frozen) openCalibration(f planFlags) (err error) {
	k.Temperature, k.Today = f.bathTemperature.Value, today()
	if f.calibration != "" {
		k.Calibration, k.Choice, err = f.shelf.named(f.calibration, k.stdin)
		return err
	}
	k.Calibration, k.Choice, err = f.shelf.choose(k.like().Key(), k.Metal.Book)
	return err
}

// like is the request as far as a calibration hangs on it.
func (k *frozen) like() plan.Request {
	return plan.Request{Profile: k.Profile, Rack: k.Rack, Metal: k.Metal, Bath: k.Bath,
		Today: k.Today, Temperature: k.Temperature, Simulated: k.Bench == nil}
}

// chosen is nil where nothing was chosen.
func (k *frozen) chosen() *plan.Choice {
	if k.Choice.By == "" {
		return nil
	}
	return &k.Choice
}
