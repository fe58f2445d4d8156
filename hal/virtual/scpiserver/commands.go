package scpiserver

import (
	"slices"
	"strings"
)

var commands = slices.Concat(outputCommands(), measureCommands(), statusCommands(), systemCommands(), commonCommands())

func header(pattern string, set, query func(*Instrument, []string) code) command {
	return command{nodes: compile(pattern), set: set, query: query}
}

// without is a command or query that takes no parameter.
func without(do func(*Instrument)) func(*Instrument, []string) code {
	return func(i *Instrument, parameters []string) code {
		if len(parameters) > 0 {
			return notAllowed
		}
		do(i)
		return noError
	}
}

// says is a query without a parameter.
func says(text func(*Instrument) string) func(*Instrument, []string) code {
	return without(func(i *Instrument) { i.answer(text(i)) })
}

// one is a command with exactly one parameter.
func one(do func(*Instrument, string) code) func(*Instrument, []string) code {
	return func(i *Instrument, parameters []string) code {
		switch len(parameters) {
		case 0:
			return missing
		case 1:
			return do(i, parameters[0])
		}
		return notAllowed
	}
}

// switched is a command with one boolean.
func switched(do func(*Instrument, bool) code) func(*Instrument, []string) code {
	return one(func(i *Instrument, text string) code {
		on, fault := boolean(text)
		if fault != noError {
			return fault
		}
		return do(i, on)
	})
}

// level is a header with a number: the command sets it, the query tells it, or its least and most.
func level(pattern string, allowed func(Ratings) span, set func(Source, float64), get func(Settings) float64) command {
	return header(pattern,
		one(func(i *Instrument, text string) code {
			value, fault := allowed(i.source.Ratings()).decimal(text)
			if fault == noError {
				set(i.source, value)
			}
			return fault
		}),
		func(i *Instrument, parameters []string) code {
			if len(parameters) == 0 {
				i.answer(nr3(get(i.source.Settings())))
				return noError
			}
			if len(parameters) > 1 {
				return notAllowed
			}
			if _, suffix := cutNumber(parameters[0]); suffix == "" || suffix != parameters[0] {
				return notAllowed
			}
			value, fault := allowed(i.source.Ratings()).decimal(parameters[0])
			if fault != noError {
				return illegalValue
			}
			i.answer(nr3(value))
			return noError
		})
}

func outputCommands() []command {
	volts := func(r Ratings) span { return span{most: r.Volts, unit: "V"} }
	amperes := func(r Ratings) span { return span{most: r.Amperes, unit: "A"} }
	overvoltage := func(r Ratings) span { return span{most: r.Overvoltage, rest: r.Overvoltage, unit: "V"} }
	overcurrent := func(r Ratings) span { return span{most: r.Overcurrent, rest: r.Overcurrent, unit: "A"} }
	slew := func(r Ratings) span { return span{least: r.LeastSlew, most: r.MostSlew, rest: r.Slew, unit: "V/S"} }
	delay := func(Ratings) span { return span{most: 10, unit: "S"} }
	return slices.Concat([]command{
		header("OUTPut[:STATe]", switched(switchOutput), says(func(i *Instrument) string { return flag(i.source.Settings().Output) })),
		level("[SOURce:]VOLTage[:LEVel][:IMMediate][:AMPLitude]", volts, Source.SetVolts, func(s Settings) float64 { return s.Volts }),
		level("[SOURce:]CURRent[:LEVel][:IMMediate][:AMPLitude]", amperes, Source.SetAmperes, func(s Settings) float64 { return s.Amperes }),
		level("[SOURce:]VOLTage:PROTection[:LEVel]", overvoltage, Source.SetOvervoltage, func(s Settings) float64 { return s.Overvoltage }),
		level("[SOURce:]CURRent:PROTection[:LEVel]", overcurrent, Source.SetOvercurrent, func(s Settings) float64 { return s.Overcurrent }),
		level("[SOURce:]VOLTage:SLEW", slew, Source.SetSlew, func(s Settings) float64 { return s.Slew }),
		level("OUTPut:PROTection:DELay", delay, Source.SetTripDelay, func(s Settings) float64 { return s.TripDelay }),
		header("[SOURce:]VOLTage:PROTection:STATe", switched(alwaysArmed), says(func(*Instrument) string { return flag(true) })),
		header("[SOURce:]CURRent:PROTection:STATe", switched(func(i *Instrument, on bool) code { i.source.ArmOvercurrent(on); return noError }),
			says(func(i *Instrument) string { return flag(i.source.Settings().OvercurrentArmed) })),
	}, tripCommands(), lostHostCommands())
}

func switchOutput(i *Instrument, on bool) code {
	if !i.source.SwitchOutput(on) {
		return settingsConflict
	}
	return noError
}

// alwaysArmed: this supply's over-voltage trip cannot be taken away.
func alwaysArmed(_ *Instrument, on bool) code {
	if !on {
		return settingsConflict
	}
	return noError
}

func tripCommands() []command {
	clear := without(func(i *Instrument) { i.source.ClearTrip() })
	trip := func(seen func(Condition) bool) func(*Instrument, []string) code {
		return says(func(i *Instrument) string { return flag(seen(i.source.Condition())) })
	}
	return []command{
		header("[SOURce:]VOLTage:PROTection:TRIPped", nil, trip(func(c Condition) bool { return c.Overvoltage })),
		header("[SOURce:]CURRent:PROTection:TRIPped", nil, trip(func(c Condition) bool { return c.Overcurrent })),
		header("OUTPut:PROTection:TRIPped", nil, trip(Condition.tripped)),
		header("[SOURce:]VOLTage:PROTection:CLEar", clear, nil),
		header("[SOURce:]CURRent:PROTection:CLEar", clear, nil),
		header("OUTPut:PROTection:CLEar", clear, nil),
	}
}

// lostHostCommands are not in SCPI-99; the form is one of those seen in the field.
func lostHostCommands() []command {
	return []command{
		header("OUTPut:PROTection:WDOG[:STATe]", switched(func(i *Instrument, on bool) code {
			i.source.SetLostHost(on, i.source.Settings().LostHostSeconds)
			return noError
		}), says(func(i *Instrument) string { return flag(i.source.Settings().LostHost) })),
		header("OUTPut:PROTection:WDOG:DELay", one(func(i *Instrument, text string) code {
			value, fault := span{least: 1, most: 3600, rest: 60, unit: "S"}.decimal(text)
			if fault == noError {
				i.source.SetLostHost(i.source.Settings().LostHost, value)
			}
			return fault
		}), says(func(i *Instrument) string { return nr1(int64(i.source.Settings().LostHostSeconds)) })),
	}
}

func measureCommands() []command {
	return []command{
		header("MEASure[:SCALar]:VOLTage[:DC]", nil, says(func(i *Instrument) string {
			volts, _ := i.source.Measure()
			return nr3(volts)
		})),
		header("MEASure[:SCALar]:CURRent[:DC]", nil, says(func(i *Instrument) string {
			_, amperes := i.source.Measure()
			return nr3(amperes)
		})),
	}
}

func systemCommands() []command {
	panel := func(locked bool) func(*Instrument, []string) code {
		return without(func(i *Instrument) { i.source.Panel(locked) })
	}
	return []command{
		header("SYSTem:ERRor[:NEXT]", nil, says(func(i *Instrument) string { return i.status.next().String() })),
		header("SYSTem:ERRor:COUNt", nil, says(func(i *Instrument) string { return nr1(int64(len(i.status.queue))) })),
		header("SYSTem:ERRor:ALL", nil, says(allErrors)),
		header("SYSTem:VERSion", nil, says(func(*Instrument) string { return "1999.0" })),
		header("SYSTem:REMote", panel(false), nil),
		header("SYSTem:LOCal", panel(false), nil),
		header("SYSTem:RWLock", panel(true), nil),
		header("SYSTem:KLOCk", switched(func(i *Instrument, on bool) code { i.source.Panel(on); return noError }),
			says(func(i *Instrument) string { return flag(i.source.PanelLocked()) })),
		header("SYSTem:COMMunicate:RLSTate", one(remoteState), says(func(i *Instrument) string {
			if i.source.PanelLocked() {
				return "RWL"
			}
			return "REM"
		})),
	}
}

func remoteState(i *Instrument, text string) code {
	switch strings.ToUpper(text) {
	case "LOC", "LOCAL", "REM", "REMOTE":
		i.source.Panel(false)
	case "RWL", "RWLOCK":
		i.source.Panel(true)
	default:
		return illegalValue
	}
	return noError
}

func allErrors(i *Instrument) string {
	text := []string{i.status.next().String()}
	for len(i.status.queue) > 0 {
		text = append(text, i.status.next().String())
	}
	return strings.Join(text, ",")
}
