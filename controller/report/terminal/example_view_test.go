package terminal

import (
	"math"

	"anodized/hal/unit"
)

// exampleFilms are names and colours over nm, for pictures only.
var exampleFilms = []struct {
	nm   float64
	name string
	rgb  RGB
}{
	{20, "pale straw", RGB{195, 181, 160}}, {33, "bronze", RGB{144, 87, 44}}, {42, "violet", RGB{60, 46, 128}}, {56, "blue", RGB{49, 120, 183}},
	{75, "pale blue", RGB{158, 192, 208}}, {105, "pale yellow", RGB{209, 210, 154}}, {125, "gold", RGB{222, 183, 66}},
	{138, "pink", RGB{219, 112, 152}}, {143, "magenta", RGB{200, 90, 180}}, {1000, "purple", RGB{176, 76, 200}},
}

func exampleFilm(nm float64) Swatch {
	for _, f := range exampleFilms {
		if nm < f.nm {
			return Swatch{Name: f.name, Colour: f.rgb, Thickness: unit.Nanometres(nm)}
		}
	}
	return Swatch{}
}

// exampleColumn is a load of 70 V at a moment: check to 16 s, ramp to 78 s, hold.
func exampleColumn(t float64) Column {
	volts, density := 0.5*t, 1.7*math.Min(1, t/3)
	switch {
	case t > 78:
		volts, density = 70, 3.42/(1+(t-78)/5.5)
	case t > 16:
		volts, density = 8+(t-16), math.Min(3.42, 1.7+(t-16)*0.6)
	}
	nm := 1.5 + 1.76*volts
	if t > 78 {
		nm = 125 + 20.4*(1-1/(1+(t-78)/12))*1.15
	}
	return Column{unit.Seconds(t), unit.Volts(volts), unit.CurrentDensity(density), exampleFilm(nm)}
}

func exampleColumns(from, to float64) []Column {
	var out []Column
	for n := math.Round(from * 10); n <= to*10; n++ {
		out = append(out, exampleColumn(n/10))
	}
	return out
}

func exampleView(now float64) View {
	c := exampleColumn(now)
	return View{
		Simulated: true, Load: "load 412 · eight headset spacers · second-order purple", Clock: "09:16:14",
		State: "holding", Output: On, Why: "until 0.15 mA/cm2 for 5 s, now 0.22", Left: 34, LeastLeft: 31, MostLeft: 37,
		Volts: c.Volts, Target: 70, Amperes: c.Density.At(199.8), Limit: 1, Density: c.Density, EndAt: 0.15, LimitAt: 5, Pace: ByVolts, Age: 0.1,
		Now: c.Film, ByCharge: c.Film.Thickness - 0.5, Wanted: Swatch{Name: "purple", Colour: RGB{180, 79, 196}, Thickness: 145.4}, DE00: 3.9,
		Past: exampleColumns(0, now), To: exampleColumns(now, 165), EndTime: 165,
		Lines: []Line{{16, "contact of every part: live area 201 cm2, 1.01 of the last 9 good loads"}, {78, "at 70.0 V, hold begins"}},
		Bench: "lid closed, do not open · bath 21.4 °C · output on",
	}
}

func nan() unit.Seconds { return unit.Seconds(math.NaN()) }

// exampleStates is one view for each state.
func exampleStates() map[string]View {
	change := func(now float64, f func(*View)) View {
		v := exampleView(now)
		f(&v)
		return v
	}
	empty := func(state string, output Output, why string) View {
		return change(0, func(v *View) {
			v.State, v.Output, v.Why, v.Past, v.Lines, v.Now, v.Pace = state, output, why, nil, nil, Swatch{}, NoPace
			v.Left, v.LeastLeft, v.MostLeft, v.DE00, v.Volts, v.Amperes, v.Density = nan(), nan(), nan(), math.NaN(), 0, 0, 0
			v.ByCharge = unit.Nanometres(nan())
			v.Bench = "lid open · bath 21.4 °C · output off, read back"
		})
	}
	over := func(now float64, state, why string) View {
		return change(now, func(v *View) {
			v.State, v.Output, v.Why, v.Ended, v.Pace, v.To = state, Off, why, true, NoPace, nil
			v.Left, v.LeastLeft, v.MostLeft, v.Volts, v.Amperes, v.Density = nan(), nan(), nan(), 0.3, 0, 0
			v.EndTime, v.Bench = unit.Seconds(now), "lid closed · safe to open is not proven: bleed lead, then meter · output off"
		})
	}
	return map[string]View{
		"checking": empty("checking", Off, "waits for the lid to be seen open, then closed"),
		"contact-check": change(10, func(v *View) {
			v.State, v.Why, v.Left, v.LeastLeft, v.MostLeft = "contact-check", "slow ramp to 8.0 V", 155, nan(), nan()
			v.Lines = nil
		}),
		"question": change(16, func(v *View) {
			v.State, v.Why, v.Left, v.LeastLeft, v.MostLeft, v.Pace = "contact-check", "waits at 8.0 V for your answer, 0:52 left to answer", nan(), nan(), nan(), NoPace
			v.Lines, v.Question = nil, "About 1 part in 8 may hang without contact. g goes on, Ctrl-C stops."
		}),
		"ramping": change(53, func(v *View) {
			v.State, v.Why, v.Left, v.LeastLeft, v.MostLeft, v.Pace, v.DE00 = "ramping", "to 70.0 V at 0.44 V/s, limited by amps", 103, 90, 120, ByAmperes, 55
			v.Lines = v.Lines[:1]
		}),
		"holding": exampleView(130),
		"unknown": change(130, func(v *View) {
			v.Output, v.Age, v.Bench = Unknown, 14, "lid not known, do not open · output not known"
		}),
		"discharging":  over(165, "discharging", "until the cell is below 5 V"),
		"complete":     over(165, "complete", "by density, 0.149 mA/cm2 for 5 s"),
		"time-ran-out": over(165, "time-ran-out", "longest hold, 0.26 mA/cm2: not the same colour"),
		"stopped":      over(90, "stopped", "by a person"),
		"tripped": change(53, func(v *View) {
			*v = over(53, "tripped", "contact-lost at 40.2 V")
			v.Trip = "About 1 part in 8 lost contact. Nothing is spoiled: re-hang and run again."
		}),
		"refused": empty("refused", Off, "lid open; bath outside 18 to 24 °C"),
		"idle":    empty("idle", Off, ""),
	}
}
