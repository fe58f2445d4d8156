package report

import (
	"image/color"
	"math"
	"slices"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// bench is a small bench of its own for pictures: eight parts of 25 cm² on the
// high-field law j = i0 (exp(B V/X) - 1), in steps of 10 ms.
type bench struct{ film, charge float64 }

const (
	benchArea   = 199.8 // cm²
	benchSeries = 3.0   // ohm
	benchKF     = 530.6 // nm for a coulomb on a square centimetre
)

// settle finds the volts and amperes for a setpoint and a current limit.
func (b *bench) settle(set, limit float64) (volts, amperes float64, limited bool) {
	current := func(film float64) float64 { return benchArea * 6e-14 * math.Expm1(4.5e-6*film/(b.film*1e-7)) }
	low, high := 0.0, set
	for range 50 {
		middle := (low + high) / 2
		if i := current(middle); i > limit || middle+benchSeries*i > set {
			high = middle
		} else {
			low = middle
		}
	}
	amperes = current(low)
	return low + benchSeries*amperes, amperes, amperes > 0.99*limit
}

func (b *bench) step(seconds, amperes float64) {
	b.charge += amperes * seconds
	b.film += benchKF * amperes * seconds / benchArea
}

// exampleRows is a load of 70 V at 1 V/s under a limit until the end criterion. Each
// is worked out once.
func exampleRows(limit float64) ([]record.Row, []FilmPoint) {
	one, known := worked[limit]
	if !known {
		one.rows, one.film = workedRows(limit)
		worked[limit] = one
	}
	return slices.Clone(one.rows), slices.Clone(one.film)
}

// worked are the loads so far; the tests of this package run one after another.
var worked = map[float64]struct {
	rows []record.Row
	film []FilmPoint
}{}

func workedRows(limit float64) ([]record.Row, []FilmPoint) {
	b := &bench{film: 1.5}
	var rows []record.Row
	var film []FilmPoint
	set, held, below := 0.0, 0.0, 0.0
	for n := 0; ; n++ {
		t := float64(n) / 10
		volts, amperes, limited := b.settle(set, limit)
		state, rate := process.ContactCheck, 0.5
		if set >= 8 {
			state, rate = process.Ramping, 1
		}
		if volts >= 69.99 || held > 0 {
			state, held = process.Holding, held+0.1
		}
		mode := process.ConstantVoltage
		if limited {
			mode = process.ConstantCurrent
		}
		noise := 1 + 0.003*math.Sin(float64(n*n))
		rows = append(rows, record.Row{T: unit.Seconds(t), Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes * noise),
			Set: unit.Volts(set), Limit: unit.Amperes(limit), Mode: uint8(mode), State: uint8(state)})
		film = append(film, FilmPoint{unit.Seconds(t), unit.Nanometres(b.film), unit.Nanometres(b.charge*benchKF/benchArea*1.004 + 1)})
		if below = below + 0.1; amperes > 0.030 {
			below = 0
		}
		if held > 0 && below >= 5 {
			return append(rows, offRows(t, volts)...), film
		}
		for range 10 {
			_, i, _ := b.settle(set, limit)
			b.step(0.01, i)
		}
		set = math.Min(70, math.Min(set+rate*0.1, volts+1))
	}
}

func offRows(t, volts float64) []record.Row {
	var rows []record.Row
	for n := 1; n <= 30; n++ {
		after := float64(n) / 10
		rows = append(rows, record.Row{T: unit.Seconds(t + after), Volts: unit.Volts(volts * math.Exp(-after)),
			State: uint8(process.Discharging), Mode: uint8(process.ModeOff)})
	}
	return rows
}

// exampleColours are colours of a titanium film at normal incidence under D65,
// computed independently; between them sRGB is interpolated.
var exampleColours = []struct{ nm, r, g, b float64 }{
	{0, 0xc0, 0xbc, 0xb8}, {11.35, 0xc3, 0xb5, 0xa0}, {31.05, 0x90, 0x57, 0x2c}, {40, 0x3c, 0x2e, 0x80}, {50.75, 0x31, 0x78, 0xb7},
	{60.6, 0x6f, 0xa7, 0xca}, {70.45, 0x9e, 0xc0, 0xd0}, {100, 0xd1, 0xd2, 0x9a}, {119.7, 0xde, 0xb7, 0x42},
	{135, 0xdb, 0x70, 0x98}, {149.25, 0xaf, 0x4c, 0xc9}, {168.95, 0x00, 0x9f, 0xcd}, {198.5, 0x9a, 0xd3, 0x77}, {240, 0xd0, 0x80, 0xa0},
}

func exampleColour(nm float64) color.NRGBA {
	for i := 1; i < len(exampleColours); i++ {
		a, b := exampleColours[i-1], exampleColours[i]
		if nm <= b.nm {
			s := (nm - a.nm) / (b.nm - a.nm)
			return color.NRGBA{uint8(a.r + s*(b.r-a.r)), uint8(a.g + s*(b.g-a.g)), uint8(a.b + s*(b.b-a.b)), 255}
		}
	}
	return color.NRGBA{0xd0, 0x80, 0xa0, 255}
}

func exampleStops(film []FilmPoint) []Stop {
	every := (len(film) + MostStops - 1) / MostStops
	var stops []Stop
	for i := 0; i < len(film); i += every {
		stops = append(stops, Stop{film[i].T, exampleColour(float64(film[i].ByVolts))})
	}
	return stops
}

func exampleLoad(limit float64) Load {
	rows, film := exampleRows(limit)
	p := plan.Plan{Area: benchArea, TargetVolts: 70, CeilingVolts: 70.7, CurrentLimit: unit.Amperes(limit), CurrentDensity: unit.CurrentDensity(limit / benchArea * 1000),
		End: plan.End{CurrentDensity: 0.15, Current: 0.03, Sustained: 5}}
	p.Expected.Tolerance.DE1 = 0.45
	p.Calibration.NMPerVolt = 2.08
	end := film[len(film)-1].ByVolts
	return Load{
		Title: "load 412", Subtitle: "eight headset spacers · second-order purple · 25 November, 09:14", Simulated: true,
		Ended: "complete, by density", Electrical: "two findings", Colour: "not read yet",
		Rows: rows, Plan: p, Outcome: record.Complete, Film: film, Colours: exampleStops(film),
		Findings: []fault.Finding{
			{Code: "mixed-rack", Severity: fault.Warning, AtSeconds: 40, Evidence: []string{"1 part in 8 joined at 31.9 V: it was already coloured"}, Action: "it matches only if the target is well above"},
			{Code: "contact-intermittent", Severity: fault.Warning, AtSeconds: 46, Evidence: []string{"contact came and went at 38 and 41 V, 0.4 s and 0.3 s"}, Action: "check every spring and clip; which part it was cannot be seen"},
		},
		Now:        Swatch{Name: "purple", Hex: "#b44fc2", Colour: exampleColour(float64(end)), Thickness: end},
		Wanted:     Swatch{Name: "purple", Hex: "#b44fc4", Colour: exampleColour(145.4), Thickness: 145.4},
		Facts:      []string{"declared area 199.8 cm²", "live area 201 cm²", "series 3.1 ohm, leak 0.4 mA", "charge 54.1 C", "end 70.0 V, 0.149 mA/cm²", "1:46 of ramp, 1:27 of hold"},
		Difference: 0.5, Provenance: "Colours by the ladder of bath 1 of 12 November, titanium grade 5, D65, 2 degree observer, normal incidence.",
	}
}

func exampleChart(count int) Chart {
	c := Chart{Title: "titanium grade 5 in bicarbonate", Viewing: "D65 · 2 degree observer · normal incidence · end current density 0.15 mA/cm²",
		Provenance: "Book law 1.5 nm + 1.97 nm/V, fitted to the trade's colour sequence, common practice, no source: make a ladder."}
	for i := range count {
		volts := 110 * float64(i) / math.Max(1, float64(count-1))
		nm := 1.5 + 1.97*volts
		c.Swatches = append(c.Swatches, Swatch{Name: "greenish yellow", Colour: exampleColour(nm), Thickness: unit.Nanometres(nm),
			Volts: unit.Volts(volts), Tolerance: 0.45, Beyond: i%9 == 4})
	}
	return c
}
