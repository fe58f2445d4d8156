package review

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/replay"
	"anodized/profiles"
)

func readCurve(t *testing.T, data []byte) Curve {
	t.Helper()
	c, err := profiles.ReadCurve("f.csv", data)
	require.NoError(t, err)
	return NewCurve(c)
}

func TestNewCurve(t *testing.T) {
	c := readCurve(t, []byte("t_s,volts,amperes,set_volts\n0,0.1,0.02,0.1\n0.1,0.2,0.03,\n"))
	require.Len(t, c.Rows, 2)
	assert.True(t, c.HasSet)
	assert.False(t, c.HasLimit)
	assert.InDelta(t, 0.2, float64(c.Rows[1].Volts), 1e-12)
	assert.True(t, math.IsNaN(float64(c.Rows[1].Set)), "a cell that is empty is not a number")
	rows, _ := c.Phased()
	assert.InDelta(t, 0.1, float64(rows[1].Set), 1e-12, "what was commanded last still stands")
	assert.Zero(t, rows[1].Limit)
}

// Whatever a curve holds, its review has a verdict.
func FuzzOfCurve(f *testing.F) {
	f.Add([]byte("t_s,volts,amperes\n0,0,0\n0.1,1,0.5\n0.2,1,0.4\n"))
	f.Add([]byte("t_s,volts,amperes,set_volts,limit_amperes,bath_c\n0,0,0,,,\n1,70,1,70,1,21\n2,0,0,0,1,21\n"))
	f.Add([]byte("t_s,volts,amperes\n-1e9,1000,-1000\n1e9,-1000,1000\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		read, err := profiles.ReadCurve("f.csv", data)
		if err != nil {
			return
		}
		c := NewCurve(read)
		v := OfCurve(c, load(), nil)
		if v.Verdict.Electrical == "" || v.Findings == nil {
			t.Fatal("a review without a verdict")
		}
		if _, err := json.Marshal(v); err != nil {
			t.Fatalf("a number that is none: %v", err)
		}
	})
}

// foreign is the curve of a load as somebody else would have logged it.
func foreign(run record.Run, columns int, delay float64) []byte {
	var b strings.Builder
	b.WriteString(strings.Join([]string{"t_s", "volts", "amperes", "set_volts", "limit_amperes"}[:columns], ",") + "\n")
	for _, row := range run.Rows {
		if row.State != uint8(process.ContactCheck) && row.T <= 0 {
			continue
		}
		all := []string{fmt.Sprintf("%.3f", float64(row.T)+delay), fmt.Sprintf("%.3f", row.Volts), fmt.Sprintf("%.4f", row.Amperes),
			fmt.Sprintf("%.3f", row.Set), fmt.Sprintf("%.3f", row.Limit)}
		b.WriteString(strings.Join(all[:columns], ",") + "\n")
	}
	return []byte(b.String())
}

func TestForeignCurveIsReadLikeTheRun(t *testing.T) {
	run := newTank(load()).done(t)
	for _, columns := range []int{3, 5} {
		c := readCurve(t, foreign(run, columns, 1000))
		v := OfCurve(c, load(), []string{"the end"})
		require.True(t, v.Usable.OK, v.Usable.Why)
		assert.Equal(t, Clean, v.Verdict.Electrical, v.Findings)
		assert.Equal(t, record.Complete, v.Ended.Outcome)
		assert.InEpsilon(t, *run.Result.LiveArea, *v.Estimates.LiveArea, 0.03)
		assert.InEpsilon(t, *run.Result.ThicknessByVolts, *v.Estimates.ThicknessByVolts, 0.01)
		assert.InEpsilon(t, *run.Result.Charge, *v.Estimates.Charge, 0.03, "without setpoints the saw-tooth between readings is not known")
		assert.InEpsilon(t, *run.Result.EndDensity, *v.Estimates.EndDensity, 0.05)
		assert.InDelta(t, *run.Result.HoldSeconds, *v.Estimates.HoldSeconds, 1)
		assert.Equal(t, []string{"the end"}, v.Assumed)
		assert.Len(t, v.CannotShow, map[int]int{3: 8, 5: 6}[columns])
	}
}

func TestFactsOfACurve(t *testing.T) {
	run := newTank(load()).done(t)
	c := readCurve(t, foreign(run, 5, 7))
	rows, facts := c.Phased()
	assert.InDelta(t, 30, float64(facts.Target), 0.01)
	assert.InDelta(t, 1, float64(facts.Ramp), 0.05)
	assert.InDelta(t, 1, float64(facts.Limit), 0.001)
	assert.InDelta(t, 0.1, float64(facts.Tick), 0.001)
	assert.InDelta(t, 0, float64(rows[0].T), 1)
	assert.InDelta(t, 7, float64(facts.FirstAt), 1)
	assert.InDelta(t, 7, float64(c.Rows[0].T), 0.2, "the curve itself stays as it was")
	var states []process.State
	for _, row := range rows {
		if s := process.State(row.State); len(states) == 0 || states[len(states)-1] != s {
			states = append(states, s)
		}
	}
	assert.Equal(t, []process.State{process.Checking, process.ContactCheck, process.Ramping, process.Holding, process.Discharging}, states)
}

func TestForeignCurveOfPartsThatFall(t *testing.T) {
	k := newTank(load())
	run := k.done(t)
	for i := range run.Rows {
		if run.Rows[i].Volts > 20 && run.Rows[i].State == uint8(process.Ramping) {
			run.Rows[i].Amperes *= 0.7
		}
	}
	c := readCurve(t, foreign(run, 3, 0))
	v := OfCurve(c, load(), nil)
	assert.Equal(t, Fault, v.Verdict.Electrical)
	assert.True(t, replay.Has(v.Findings, fault.ContactLost), v.Findings)
	assert.Nil(t, v.Estimates.SeriesOhm, "the regression knows nothing of a lost part")
	assert.Contains(t, v.CannotShow, cannotShowOhms)
	assert.False(t, replay.Has(v.Findings, fault.BathResistanceLow), v.Findings)
}

func TestForeignCurveThatStoppedEarly(t *testing.T) {
	run := newTank(load()).done(t)
	rows := run.Rows[:0:0]
	for _, row := range run.Rows {
		if row.Volts < 25 {
			rows = append(rows, row)
		} else {
			break
		}
	}
	run.Rows = rows
	c := readCurve(t, foreign(run, 3, 0))
	v := OfCurve(c, load(), nil)
	assert.Equal(t, record.Stopped, v.Ended.Outcome)
	assert.True(t, replay.Has(v.Findings, fault.UnderFormed), v.Findings)
}
