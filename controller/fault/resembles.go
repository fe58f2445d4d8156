package fault

import "slices"

// meaning is which faults a look-alike stands for, where a code says it.
type meaning struct {
	codes   []Code
	atLimit bool // it looks like that only while the current limit regulates, which hides the current
}

// meanings are the look-alikes of the trips that have a code of their own. The others, as
// strong stirring, are nothing that this station tells.
var meanings = map[string]meaning{
	"contactor opened by its own coil or supply":           {codes: []Code{ContactorStuck}},
	"one-shot that ran out because this computer was late": {codes: []Code{ControlAbsent}},
	"computer that was late to read it":                    {codes: []Code{ControlAbsent}},
	"computer that was late to ask":                        {codes: []Code{ControlAbsent}},
	"lid half closed":                                      {codes: []Code{InterlockOpen}},

	"cable pulled": {codes: []Code{SupplySilent}},
	"supply or contactor module whose answers hang":     {codes: []Code{SupplySilent, SupplyOutOfStep, ContactorStuck}},
	"supply busy or hung":                               {codes: []Code{RecordGap}},
	"answers that are spoilt on the way":                {codes: []Code{SupplyOutOfStep}},
	"slow supply with too short a time limit":           {codes: []Code{SupplySilent, RecordGap}},
	"answer that came late or spoilt":                   {codes: []Code{SupplySilent, SupplyOutOfStep, RecordGap}},
	"setting that the supply did not take":              {codes: []Code{SupplyDisobeys}},
	"supply that restarted":                             {codes: []Code{SupplyRestarted}},
	"error that it reports otherwise":                   {codes: []Code{SupplyDisobeys}},
	"off that the supply ignores":                       {codes: []Code{OutputStuckOn}},
	"its over-voltage level set too low":                {codes: []Code{OverVoltage}},
	"its lost-host timer, after this computer was away": {codes: []Code{ControlAbsent}},
	"volts turned up by hand":                           {codes: []Code{SupplyTouched}},
	"knob turned by hand":                               {codes: []Code{SupplyTouched}},
	"knob turned by hand in the moment of a setting":    {codes: []Code{SupplyTouched}},
	"output switched off at the panel":                  {codes: []Code{SupplyTouched}},

	"long mains dip":                                            {codes: []Code{SupplyDroop}},
	"mains dip in the moment of a setting":                      {codes: []Code{SupplyDroop}},
	"supply that drooped by half a per cent":                    {codes: []Code{SupplyDroop, SupplyNotFollowing}},
	"supply that gives no volts":                                {codes: []Code{SupplyDroop, SupplyTouched}},
	"supply that gives nothing: its mains, fuse or output":      {codes: []Code{SupplyDroop}},
	"supply that leapt above its setpoint at the current limit": {codes: []Code{OverVoltage}, atLimit: true},
	"volts that stopped following for a while":                  {codes: []Code{SupplyNotFollowing}},
	"volts that no longer follow the setpoint":                  {codes: []Code{SupplyNotFollowing}},

	"wrong readback":                                 {codes: []Code{ReadbackStuck}},
	"wrong gain of one of the two":                   {codes: []Code{ReadbackGain}},
	"current reading whose zero moved all at once":   {codes: []Code{CurrentOffset, EndNotReached}},
	"reading that stands still":                      {codes: []Code{ReadbackStuck}},
	"readings that stand still at the current limit": {codes: []Code{ReadbackStuck}},
	"dead current reading":                           {codes: []Code{ReadbackStuck}},
	"meter range too coarse":                         {codes: []Code{ReadbackTooCoarse}},
	"current that the current limit holds":           {codes: []Code{AreaUnderstated, LimitedByCurrent}},
	"current that has come to the floor of a leak":   {codes: []Code{LeakPlateau, EndNotReached, FilmDissolving}},

	"open lead": {codes: []Code{ContactLost, PartMissing}},
	"rack that is wholly coloured but declared bare":            {codes: []Code{OxideAlreadyPresent, MixedRack}},
	"contact that comes and goes":                               {codes: []Code{ContactIntermittent}},
	"loose contact that reopens":                                {codes: []Code{ContactIntermittent}},
	"part that regained contact":                                {codes: []Code{PartMissing}},
	"bare part that gets its contact late":                      {codes: []Code{PartMissing}},
	"bath that is suddenly warmer or colder":                    {codes: []Code{BathTemperatureDrift}},
	"what the question was about: it stands among the findings": {codes: []Code{ContactLost, PartMissing, MixedRack, AreaOverstated, ReadbackStuck}},

	"short circuit of a few ohms":                              {codes: []Code{ShortCircuit}},
	"bare metal other than the work between anode and cathode": {codes: []Code{ForeignMetalWetted}},
	"other metal in the bath":                                  {codes: []Code{ForeignMetalWetted}},
	"other metal that fell into the bath":                      {codes: []Code{ForeignMetalWetted}},
	"anode and cathode leads swapped":                          {codes: []Code{PolaritySwapped}},
	"plates that hang as the work":                             {codes: []Code{PolaritySwapped}},
	"wrong area that happens to equal that of the plates":      {codes: []Code{AreaOverstated, AreaUnderstated}},
	"far more metal than declared, at a low current limit":     {codes: []Code{AreaUnderstated}},
	"leak that takes the whole current limit":                  {codes: []Code{LeakPlateau, TargetNotReached}},
	"leak that holds the volts down at the current limit":      {codes: []Code{LeakPlateau, TargetNotReached}},
	"film that sparks":                                         {codes: []Code{Breakdown}},
	"film that breaks down":                                    {codes: []Code{Breakdown}},
	"film that breaks down or dissolves as fast as it grows":   {codes: []Code{Breakdown, FilmDissolving}},
	"film that breaks down or dissolves at the current limit":  {codes: []Code{Breakdown, FilmDissolving}},
}

// Resembles tells whether a trip says of itself that it could be taken for a fault, or
// rather the fault for it; limited: the current limit regulated meanwhile.
func (t Trip) Resembles(code Code, limited bool) bool {
	return slices.ContainsFunc(t.Confused, func(words string) bool {
		m := meanings[words]
		return (limited || !m.atLimit) && slices.Contains(m.codes, code)
	})
}
