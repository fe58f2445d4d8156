package fault

// trips is the closed table of trips, in the order of precedence.
var trips = []Trip{
	{
		EmergencyStop, "The emergency stop was pressed.",
		"Find out why. Release it, acknowledge here, open and close the lid. Releasing it starts nothing.",
		[]string{"contactor opened by its own coil or supply", "one-shot that ran out because this computer was late"},
	},
	{
		InterlockOpen, "The lid opened, or a channel of its switch could not be read.",
		"Wait until the volts are shown as safe before reaching in. Close the lid, acknowledge, start again.",
		[]string{"loose wire to a lid switch", "bouncing contact", "interlock module without power or network", "computer that was late to read it"},
	},
	{
		InterlockDisagrees, "The two channels of the lid switch say different things.",
		"Open the lid until both channels read open, close it until both read closed. If it comes back, have the switch repaired before the next load.",
		[]string{"lid half closed", "one switch stuck or out of adjustment", "one wire broken"},
	},
	{
		VentilationLost, "The ventilation is not proven to run.",
		"Start the fan and check the airflow. Hydrogen gathers under a closed lid: air the box before starting again.",
		[]string{"airflow switch stuck", "wire to the airflow switch broken"},
	},
	{
		ContactorStuck, "The contactor is not where it was sent.",
		"Keep the lid closed and switch the supply off at its mains. Have the contactor checked: a welded contact no longer protects anyone.",
		[]string{"mirror contact or its wire broken", "one-shot that does not let go", "coil without power"},
	},
	{
		OutputStuckOn, "Volts or amperes remain although the supply was switched off.",
		"Do not open the lid. Press the emergency stop, then pull the supply's mains plug, and prove with a meter that the cell is dead.",
		[]string{"a large capacitor that discharges slowly", "wrong readback", "supply that ignores its off command"},
	},
	{
		OverVoltage, "The supply went above its setpoint or above the ceiling of the plan.",
		"The colour may be past its target: measure it before stripping anything. Check the supply and its sense leads before the next load.",
		[]string{"readings that disagree with another meter", "sense lead off or on the wrong terminal", "knob turned by hand", "volts that stopped following for a while", "reading that stands still"},
	},
	{
		ShortCircuit, "Short circuit: a part or a hook touches the cathode.",
		"Open when it is safe, separate the parts from the plates, then start again. The film already there is not lost.",
		[]string{"leads shorted before the bath", "bare metal other than the work between anode and cathode", "plates that hang as the work", "leak that takes the whole current limit", "film that breaks down or dissolves as fast as it grows", "bare part that gets its contact late", "far more metal than declared, at a low current limit", "readings that stand still at the current limit"},
	},
	{
		ControlAbsent, "The control did not run for too long.",
		"Look at what else this computer does. The record says how long it was away. Acknowledge and start again.",
		[]string{"computer overloaded", "computer suspended or stalled by its storage", "supply or contactor module whose answers hang"},
	},
	{
		SupplySilent, "The supply does not answer.",
		"Treat the output as live until a meter says otherwise. Check the supply's power and its cable.",
		[]string{"cable pulled", "supply without mains", "network fault", "supply busy or hung", "answers that are spoilt on the way", "computer that was late to ask"},
	},
	{
		SupplyOutOfStep, "Answers of the supply do not belong to the questions asked.",
		"Check that nothing else talks to the supply. Switch it off and on, then acknowledge.",
		[]string{"another program on the same port", "slow supply with too short a time limit", "noise on a serial line"},
	},
	{
		SupplyDisobeys, "The supply does not hold what it was sent.",
		"Compare the asked and the accepted value on the record with the limits of the supply and of the bench file.",
		[]string{"setpoint beyond the supply's range", "wrong dialect in the bench file", "panel lock", "knob turned by hand in the moment of a setting", "answer that came late or spoilt", "mains dip in the moment of a setting", "off that the supply ignores"},
	},
	{
		SupplyTouched, "Somebody changed the supply at its panel, or another program did.",
		"Leave the panel alone during a run. Set the supply to remote and start again.",
		[]string{"another program on the same supply", "supply that changes its own range", "setting that the supply did not take", "supply that restarted"},
	},
	{
		SupplyTripped, "The supply tripped by its own protection.",
		"Read its display. Remove the cause before clearing it: clearing may switch the output on, so keep the lid closed.",
		[]string{"over-temperature of the supply", "its over-voltage level set too low", "its lost-host timer, after this computer was away", "volts turned up by hand", "error that it reports otherwise", "mains disturbance"},
	},
	{
		SupplyRestarted, "The supply restarted during the run.",
		"Check its mains lead and the mains. Plan the rack again from the volts it was formed to; the run is not resumed.",
		[]string{"mains dip", "loose mains lead", "somebody switched it off and on"},
	},
	{
		SupplyNotFollowing, "The volts stay below the setpoint although the current is not at its limit.",
		"Check mains and leads. Run again: the film continues where it was.",
		[]string{"long mains dip", "supply at its power limit", "current limit set lower at the panel", "output switched off at the panel", "setting that the supply did not take", "reading that stands still", "film that breaks down"},
	},
	{
		ReadbackStuck, "A reading stands still although it must have moved.",
		"Switch the supply off and on. Compare its display with a meter before the next load.",
		[]string{"supply that repeats its last reading", "supply that gives nothing: its mains, fuse or output", "volts that no longer follow the setpoint", "meter range too coarse", "current that the current limit holds", "current that has come to the floor of a leak"},
	},
	{
		ReadbackDisagrees, "The supply's volts and the second meter disagree.",
		"Find out which of the two is right with a third meter. Do not match colours until it is known.",
		[]string{"wrong gain of one of the two", "drop in the leads", "sense lead off", "meter battery low"},
	},
	{
		NoContact, "No current flows: nothing is connected, or the parts already carry a film.",
		"Check hook and lead. If the parts were formed before, say to how many volts in the rack.",
		[]string{"rack that is wholly coloured but declared bare", "open lead", "dead current reading", "supply that gives no volts"},
	},
	{
		ContactLost, "One part or more lost contact during the run.",
		"Nothing is spoiled: hang the parts again and run to the same volts. Formed parts draw nothing until those volts are reached.",
		[]string{"contact that comes and goes", "supply that drooped by half a per cent", "supply that leapt above its setpoint at the current limit", "gas pocket over a part", "bath level below a part", "leads or bath that suddenly resist more", "bath that is suddenly warmer or colder", "current reading whose zero moved all at once", "reading that stands still"},
	},
	{
		ContactIntermittent, "A contact came and went several times.",
		"Check every spring and clip. Sparks at a loose hook can light hydrogen. Which part it was cannot be seen.",
		[]string{"strong stirring", "setpoint in coarse stairs", "film that sparks"},
	},
	{
		PartMissing, "The rack draws less than its own good loads: a part may hang without contact.",
		"Seat every part again. If the rack is smaller than declared, correct the count.",
		[]string{"smaller area than declared", "part that is already coloured", "bath level low"},
	},
	{
		PolaritySwapped, "The plates behave as the work: anode and cathode leads are swapped.",
		"Parts belong on +, plates on -. Swap the leads at the supply with the output off.",
		[]string{"wrong area that happens to equal that of the plates", "other metal in the bath", "leak that takes the whole current limit", "film that breaks down or dissolves as fast as it grows"},
	},
	{
		ForeignMetalWetted, "Something that does not form a film is in the bath and takes the current.",
		"Look for a hook, wire or solder of steel, copper or brass below the surface and take it out.",
		[]string{"short circuit of a few ohms", "anode and cathode leads swapped", "leak that takes the whole current limit", "film that breaks down or dissolves at the current limit", "readings that stand still at the current limit"},
	},
	{
		Breakdown, "The film is breaking down: it sparks, or takes more current without more volts.",
		"Look for other metal in the bath first: if some fell in, nothing is spoiled. Else go no higher in this bath; strip the parts where they are grey or sparked.",
		[]string{"other metal that fell into the bath", "loose contact that reopens", "part that regained contact", "leak that holds the volts down at the current limit", "readings that stand still at the current limit", "ripple of the supply"},
	},
	{
		BathTooHot, "The bath is too hot for colour work.",
		"Let it cool and look for the cause. Films grown hot differ in structure and in thickness a volt.",
		[]string{"thermometer out of the bath or near a heater"},
	},
	{
		IllegalEvent, "The control met an event that cannot happen in its state.",
		"This is a mistake in the software. Keep the record of the run and report it; acknowledge and start again.",
		nil,
	},
	{
		NotAnswered, "A question was not answered in time.",
		"Stay at the bench during the contact check. Nothing is spoiled: start again and answer.",
		[]string{"what the question was about: it stands among the findings", "page open on a phone without network"},
	},
}
