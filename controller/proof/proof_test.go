package proof

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

func TestSpread(t *testing.T) {
	all := make([]float64, 100)
	for i := range all {
		all[i] = float64(100 - i) // 100 .. 1
	}
	latency, jitter := Spread(all)
	assert.Equal(t, Latency{50, 99, 100}, latency)
	assert.EqualValues(t, 1, jitter)
	latency, jitter = Spread(nil)
	text, err := json.Marshal([]any{latency, jitter})
	require.NoError(t, err)
	assert.JSONEq(t, `[{"median":null,"p99":null,"max":null},null]`, string(text))
}

func TestWhichTicksALinkCarries(t *testing.T) {
	for ms, want := range map[float64]int{8.6: 10, 80: 10, 80.1: 5, 103: 5, 160: 5, 161: 0} {
		l := Carries([]float64{1, ms, ms, ms, 500})
		assert.Equal(t, want, l.RateHz, "%g ms", ms)
		assert.Equal(t, want > 0, l.OK && l.Why == "")
	}
	assert.False(t, Carries(nil).OK)
}

func TestLimits(t *testing.T) {
	for _, c := range []struct {
		asked, held float64
		off         bool
		ok          bool
		why         string
	}{
		{80, 80, true, true, ""},
		{1.155, 1.15, true, true, ""},
		{1.155, 1.16, true, false, "rounds up"},
		{120, 60, true, false, "clamps silently"},
		{80, math.NaN(), true, false, "did not say"},
		{80, 80, false, false, "not read back as off"},
	} {
		l := JudgeVolts(unit.Volts(c.asked), unit.Volts(c.held), 0.01, c.off, nil)
		assert.Equal(t, c.ok, l.OK, "%+v", c)
		assert.Contains(t, l.Why, c.why)
	}
	assert.False(t, JudgeTrip(120, 100, true, nil).OK)
	assert.True(t, JudgeTrip(120, 120.4, true, nil).OK)
	assert.InDelta(t, 17.144, Points(0, 120, 0.01)[2], 1e-9, "between two steps")
	for _, v := range Points(1.5, 120, 0.01) {
		assert.GreaterOrEqual(t, v, 1.5)
	}
}

func TestZero(t *testing.T) {
	supply := Supply{HighestVolts: 120, HighestAmperes: 5, VoltStep: 0.01, AmpereStep: 0.001}
	z := JudgeZero([]unit.Volts{0, 0.01, 0}, []unit.Amperes{0.001, 0.002, 0.001, 0.003}, supply, true)
	assert.True(t, z.OK, z.Why)
	assert.InDelta(t, 0.00175, float64(z.AmpereOffset), 1e-12)
	assert.InDelta(t, 0.001, float64(z.AmpereStep), 1e-12)
	// Two steps of 1 mA at 0.15 mA/cm2.
	assert.InDelta(t, 13.33, float64(z.SmallestRack), 0.01)
	for why, given := range map[string]Zero{
		"gave no reading": JudgeZero(nil, nil, supply, true),
		"pull the plug":   JudgeZero([]unit.Volts{0}, []unit.Amperes{0}, supply, false),
		"not discharged":  JudgeZero([]unit.Volts{12}, []unit.Amperes{0}, supply, true),
		"find the leak":   JudgeZero([]unit.Volts{0}, []unit.Amperes{0.02}, supply, true),
		"run down":        JudgeZero([]unit.Volts{1}, []unit.Amperes{0}, supply, true),
	} {
		assert.False(t, given.OK)
		assert.Contains(t, given.Why, why)
	}
}

func TestALidIsProvenByWhatWasSeen(t *testing.T) {
	var w Watcher
	assert.Contains(t, w.Judge("lid switch", "lift it", false).Why, "could not be read")
	both, none := [2]bool{true, true}, [2]bool{}
	w.See(both, 0)
	assert.False(t, w.Judge("lid switch", "lift it", false).OK)
	w.See([2]bool{false, true}, 1)
	w.See(none, 1.2)
	assert.True(t, w.Open())
	assert.Contains(t, w.Judge("lid switch", "lift it", true).Why, "not seen closed again")
	w.See(both, 3)
	o := w.Judge("lid switch", "lift it", true)
	assert.True(t, o.OK, o.Why)
	assert.True(t, w.Done() && w.Closed())
	w.See([2]bool{true, false}, 4)
	w.See([2]bool{true, false}, 4.7)
	assert.Contains(t, w.Judge("lid switch", "lift it", true).Why, "differed for 0.7 s")
}

// TestALidIsNeverProvenWithoutBothContacts whatever is read in whatever order.
func TestALidIsNeverProvenWithoutBothContacts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var w Watcher
		bothOpen, last := false, [2]bool{}
		at := unit.Seconds(0)
		for range rapid.IntRange(0, 30).Draw(t, "reads") {
			last = [2]bool{rapid.Bool().Draw(t, "a"), rapid.Bool().Draw(t, "b")}
			at += unit.Seconds(rapid.Float64Range(0, 1).Draw(t, "later"))
			w.See(last, at)
			bothOpen = bothOpen || last == [2]bool{}
		}
		if w.Judge("", "", true).OK {
			require.True(t, bothOpen && last == [2]bool{true, true})
		}
	})
}

func TestContactor(t *testing.T) {
	never := unit.Seconds(math.NaN())
	for want, c := range map[string]Contactor{
		"":                     JudgeContactor(0.02, 0.03, 1.02, 1, 0.05),
		"not seen closed":      JudgeContactor(never, never, never, 1, 0.05),
		"welded":               JudgeContactor(0.02, never, never, 1, 0.05),
		"a diode":              JudgeContactor(0.02, 0.4, 1, 1, 0.05),
		"holds it for ever":    JudgeContactor(0.02, 0.03, never, 1, 0.05),
		"shorten the one-shot": JudgeContactor(0.02, 0.03, 1.7, 1, 0.05),
	} {
		assert.Equal(t, want == "", c.OK)
		assert.Contains(t, c.Why, want)
	}
}

func benchFile(t *testing.T, name string) profiles.Bench {
	t.Helper()
	content, err := os.ReadFile("../../testdata/good/" + name)
	require.NoError(t, err)
	b, err := profiles.ReadBench(name, content)
	require.NoError(t, err)
	return b
}

// TestWhatSilenceCosts: an old file runs attended; each answer widens it.
func TestWhatSilenceCosts(t *testing.T) {
	old := Permit(benchFile(t, "bench-gpio.yaml"))
	assert.Len(t, old.Missing, 7)
	assert.NotEmpty(t, old.Whys(AttendedOnly))
	assert.NotEmpty(t, old.Whys(NeverSafe))
	assert.NotEmpty(t, old.Whys(ColourDoubt))
	assert.Empty(t, old.Whys(NothingRuns))

	full := benchFile(t, "bench-set-up.yaml")
	assert.Empty(t, Permit(full).Missing)
	assert.Empty(t, Permit(full).Narrows)

	for name, change := range map[string]struct {
		do   func(b *profiles.Bench)
		what string
	}{
		"not isolated":   {func(b *profiles.Bench) { b.SetUp.Isolation.Word = profiles.NotIsolated }, NothingRuns},
		"isolation":      {func(b *profiles.Bench) { b.SetUp.Isolation = nil }, AttendedOnly},
		"lost host":      {func(b *profiles.Bench) { b.SetUp.LostHostTimer = nil }, AttendedOnly},
		"contactor":      {func(b *profiles.Bench) { b.SetUp.Contactor.Word = profiles.NotKnown }, AttendedOnly},
		"mains return":   {func(b *profiles.Bench) { b.SetUp.MainsReturn = nil }, AttendedOnly},
		"nothing drops":  {func(b *profiles.Bench) { b.Contactor = nil }, AttendedOnly},
		"no bleed":       {func(b *profiles.Bench) { b.SetUp.Bleed = &profiles.Answer{Word: profiles.None} }, NeverSafe},
		"ripple unasked": {func(b *profiles.Bench) { b.SetUp.Ripple = nil }, ColourDoubt},
		"ripple":         {func(b *profiles.Bench) { b.SetUp.Ripple = &profiles.Answer{Value: 6} }, ColourDoubt},
	} {
		b := benchFile(t, "bench-set-up.yaml")
		change.do(&b)
		require.Len(t, Permit(b).Narrows, 1, name)
		assert.Equal(t, change.what, Permit(b).Narrows[0].What, name)
	}
	timed := benchFile(t, "bench-set-up.yaml")
	timed.Contactor, timed.SetUp.LostHostTimer = nil, &profiles.Answer{Value: 5}
	assert.Empty(t, Permit(timed).Whys(AttendedOnly), "a supply that switches off by itself")
	armed := benchFile(t, "bench-lost-host-timer.yaml")
	require.NotContains(t, Permit(armed).Missing, "lost-host timer", "the file answers it")
	require.Contains(t, Permit(benchFile(t, "bench.yaml")).Missing, "lost-host timer")
	require.InDelta(t, 1, float64(Permit(armed).ArmsLostHost), 0)
	for _, why := range Permit(armed).Whys(AttendedOnly) {
		assert.NotContains(t, why, "when this computer dies")
	}
	armed.SetUp = benchFile(t, "bench-set-up.yaml").SetUp
	armed.SetUp.LostHostTimer = nil
	assert.Empty(t, Permit(armed).Whys(AttendedOnly), "a supply whose timer the program arms")
	armed.Supply.Dialect.LostHostSwitch = ""
	assert.NotEmpty(t, Permit(armed).Whys(AttendedOnly))
	starving := benchFile(t, "bench-set-up.yaml")
	starving.Supply.Modbus = &profiles.ModbusEntry{Map: profiles.RegisterMap{SetpointVoltage: profiles.RegisterEntry{Type: "u16", Scale: 0.01, Min: 1.505},
		SetpointCurrent: profiles.RegisterEntry{Type: "u16", Scale: 0.01}}}
	require.Len(t, Permit(starving).Narrows, 1)
	assert.Contains(t, Permit(starving).Whys(NeverStarved)[0], "no less than 1.51 V and 0 A")
	starving.Contactor, starving.SetUp.LostHostTimer = nil, &profiles.Answer{Value: 5}
	assert.Len(t, Permit(starving).Whys(AttendedOnly), 1, "nothing but a person ends an off that is not obeyed")
	cell := benchFile(t, "bench-set-up.yaml")
	cell.SetUp.Bleed, cell.SetUp.Measured.Word = nil, profiles.CellSide
	assert.Empty(t, Permit(cell).Whys(NeverSafe))
}

var supplyOf120 = Supply{HighestVolts: 120, HighestAmperes: 5, VoltStep: 0.01, AmpereStep: 0.001}

// TestTheResistorIsNeverAskedForMoreThanItStands, nor the supply.
func TestTheResistorIsNeverAskedForMoreThanItStands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Resistor{Ohms: unit.Ohms(rapid.Float64Range(0.1, 1e5).Draw(t, "ohms")), Watts: rapid.Float64Range(0.1, 1000).Draw(t, "watts")}
		p, err := r.Plan(supplyOf120)
		if err != nil {
			return
		}
		top := float64(p.Points[len(p.Points)-1])
		require.LessOrEqual(t, top*top/float64(r.Ohms), 0.6*r.Watts*(1+1e-9))
		require.LessOrEqual(t, top, 120.0)
		require.LessOrEqual(t, float64(p.Limit), 5.0)
		require.Greater(t, float64(p.Limit), top/float64(r.Ohms))
		require.IsIncreasing(t, p.Points)
	})
}

func TestTheVerdictOfAResistor(t *testing.T) {
	r := Resistor{Ohms: 100, Tolerance: 1, Watts: 50, Meter: "m", MeterOff: 0.5}
	points := func(gain, offset, ampereGain float64) (list []Point) {
		for _, v := range []float64{10, 30, 50} {
			list = append(list, Point{unit.Volts(v), unit.Volts(gain*v + offset), unit.Amperes(ampereGain * v / 100), unit.Volts(v)})
		}
		return list
	}
	good := r.Judge(points(1.02, 0.1, 1), supplyOf120, "complete", "")
	assert.True(t, good.OK, good.Why)
	assert.InDelta(t, 1.02, float64(good.Volts.Gain), 1e-9)
	assert.InDelta(t, 0.1, float64(good.Volts.Offset), 1e-9)
	assert.True(t, good.Volts.Off)
	assert.False(t, good.Amperes.Off)
	check := good.Check("2026-03-02", true)
	assert.Equal(t, profiles.CheckGood, check.Result)
	assert.Equal(t, "m", check.Meter)
	for want, bad := range map[string][]Point{
		"volts read 1.06":   points(1.06, 0, 1),
		"at nothing":        points(1, 1.3, 1),
		"amperes read 0.83": points(1, 0, 0.83),
		"fewer than three":  points(1, 0, 1)[:2],
	} {
		test := r.Judge(bad, supplyOf120, "complete", "")
		assert.False(t, test.OK)
		assert.Contains(t, test.Why, want)
		assert.Equal(t, profiles.CheckBad, test.Check("2026-03-02", false).Result)
	}
	bent := points(1, 0, 1)
	bent[1].Volts += 2
	assert.Contains(t, r.Judge(bent, supplyOf120, "complete", "").Why, "straight line")
	stopped := r.Judge(nil, supplyOf120, "stopped", "by hand")
	assert.False(t, stopped.OK || stopped.Done)
	assert.Equal(t, "by hand", stopped.Why)
}
