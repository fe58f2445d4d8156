package campaign

import (
	"fmt"
	"strings"

	"anodized/controller/calibrate"
	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// book is what the controller has before it knows a bath.
type book struct {
	known
	profile       profiles.Profile
	metal         profiles.Metal
	bath          profiles.Bath
	films, metals []profiles.Table // that a ladder may choose among
	ladder        calibrate.Ladder
	volts         []unit.Volts // of the ladder
}

// openBook opens what is embedded, and plans a ladder of eight coupons by it.
func openBook() (*book, error) {
	b := &book{}
	for _, step := range []func() error{
		func() (err error) { b.profile, err = profiles.OpenProfile(profiles.DefaultProfile, nil); return },
		func() (err error) { b.metal, err = profiles.OpenMetal(profiles.DefaultMetal, nil); return },
		func() (err error) { b.bath, err = profiles.OpenBath("bicarbonate", nil); return },
		func() (err error) { b.calibration, err = profiles.OpenCalibration(b.metal.Book, nil); return },
		func() (err error) { b.surface, err = surfaceOf(b.metal.Film, b.metal.Substrate, 1); return },
		func() (err error) { b.films, err = tablesOf("TiO2-"); return },
		func() (err error) { b.metals, err = tablesOf("Ti-"); return },
		b.planLadder,
	} {
		if err := step(); err != nil {
			return nil, fmt.Errorf("open the book: %w", err)
		}
	}
	return b, nil
}

func tablesOf(stuff string) (tables []profiles.Table, err error) {
	for _, id := range profiles.OpticalIDs() {
		if !strings.HasPrefix(id, stuff) {
			continue
		}
		table, err := profiles.OpticalConstants(id)
		if err != nil {
			return nil, err
		}
		tables = append(tables, table)
	}
	return tables, nil
}

func (b *book) planLadder() error {
	light, err := profiles.Illuminant("D65")
	if err != nil {
		return err
	}
	law, end := film.FromGrowth(b.metal.Growth), b.profile.End.CurrentDensity
	b.ladder = calibrate.Ladder{Observer: profiles.Observer(), Light: light, Law: law, End: end,
		Range: calibrate.RangeOf(b.metal, b.calibration.NMPerVolt)}
	scale := colour.ScaleFor(b.calibration, law, end)
	design, err := calibrate.Plan(b.surface, calibrate.Wish{From: 10, To: 100, Coupons: 8, NMPerVolt: scale.NMPerVolt, Offset: scale.Offset})
	b.volts = design.Volts
	return err
}
