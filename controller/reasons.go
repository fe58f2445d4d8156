package controller

import "anodized/controller/process"

// reasons are what keeps a run from starting, in the words of the shop and with
// what to do about it. What no waiting can mend comes first.
var reasons = []struct {
	bit  process.Reasons
	text string
}{
	{process.BeyondSupply, "the plan asks for more than this bench may give: lower volts or current density"},
	{process.BelowSupply, "the plan asks for less than this supply can be set to: more current density or a larger rack, or a supply whose setpoints go down to zero"},
	{process.CurrentTooCoarse, "the current reading is too coarse for the end by current density: end by time, or use a finer supply"},
	{process.LinkTooSlow, "the links are too slow to control by"},
	{process.RecordNotReady, "the journal cannot take the run: check the disk"},
	{process.StopPressed, "the emergency stop is pressed, or its contacts cannot be read or disagree: find out why, then release it"},
	{process.ContactorFault, "the contactor is not where it was sent: have it checked before the next load"},
	{process.LidNotCycled, "the lid was not seen open and then closed since the last load and within 3 minutes: open it, hang the rack, close it"},
	{process.LidOpen, "the lid is open: close it"},
	{process.InterlockUnread, "the interlock does not answer: check its module and wires"},
	{process.AirUnread, "the airflow switch does not answer: check its module and wires"},
	{process.AirNotProven, "the ventilation is not proven to run: start the fan, and wait until the air has moved for a second"},
	{process.SupplyUnread, "the supply gives no volts and amperes: check its power and cable"},
	{process.SupplyNotHeld, "the supply does not say what it is set to: check its power and cable"},
	{process.OutputNotOff, "the output is not confirmed to be off: check the supply"},
	{process.LimitsNotTaken, "the supply does not hold the limits that were asked: check whether it is under panel control"},
	{process.CurrentNotZero, "current reads above zero with the output off: zero the meter of the supply"},
	{process.TimerNotArmed, "the supply does not confirm its lost-host timer: compare lost_host_switch, lost_host_delay and lost_host_after in the bench file with its manual, or leave them out and stay at the bench"},
	{process.VoltsNotZero, "the cell is not discharged: wait, or discharge it through the bleed lead"},
	{process.BathUnread, "the bath thermometer does not answer: check it"},
	{process.BathOutside, "the bath is outside the temperatures of the plan: warm or cool it"},
	{process.SupplyFault, "the supply reports a fault of its own: read its display, and remove the cause before clearing it there"},
	{process.ChannelsDisagree, "the two channels of the lid switch disagree: check both contacts and their wires, then open and close the lid"},
	{process.ContactorUnread, "the mirror contact of the contactor does not answer: check its input"},
	{process.ContactorNotOpen, "the contactor is not seen open: check its mirror contact and its wire"},
	{process.MeterUnread, "the voltmeter at the cell does not answer: check its power and cable"},
	{process.MeterDisagrees, "voltmeter and supply disagree with the output off: find out which of the two is right"},
	{process.UnderVoltage, "this computer reports under-voltage: check its mains adapter and cable"},
	{process.LinkUnmeasured, "the links are still being timed"},
	{process.LidWaitOver, "three minutes passed without the lid being opened and closed: start again when the rack is ready"},
}

func waitingFor(set process.Reasons) []string {
	var words []string
	for _, r := range reasons {
		if set&r.bit != 0 {
			words = append(words, r.text)
		}
	}
	return words
}
