package controller

import (
	"encoding/json"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

func TestSlowListenerMissesEventsButNoResult(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var all listeners
		one := all.add(3)
		for range 50 {
			all.send(Event{Kind: KindProgress})
		}
		all.send(Event{Kind: KindResult, Result: &record.Result{Run: "1"}})
		all.send(Event{Kind: KindResult, Result: &record.Result{Run: "2"}})
		all.close()
		var kinds []string
		for ev := range one.out {
			kinds = append(kinds, ev.Kind)
		}
		assert.Less(t, len(kinds), 10)
		assert.Equal(t, []string{KindResult, KindResult}, kinds[len(kinds)-2:])
	})
}

func TestListenerThatLeavesEndsItsGoroutine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var all listeners
		one := all.add(3)
		all.send(Event{Kind: KindState})
		all.remove(one)
		all.remove(one) // twice is no harm
		synctest.Wait()
		for range one.out {
		}
		all.send(Event{Kind: KindState})
	})
}

func TestListenerOfAnEndedStationIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var all listeners
		all.close()
		_, open := <-all.add(3).out
		assert.False(t, open)
	})
}

func TestEventJSON(t *testing.T) {
	line, err := json.Marshal(Event{Kind: KindProgress, T: 1.5, State: "ramping", Simulated: true,
		Progress: &ProgressEvent{Volts: 3, Amperes: Unknown(), SetVolts: 3, Density: Unknown(), ThicknessByVolts: 12, Fraction: 0.1, SecondsLeft: Unknown()}})
	require.NoError(t, err)
	assert.JSONEq(t, `{"event":"progress","t_s":1.5,"state":"ramping","simulated":true,"progress":{"volts":3,"amperes":null,
		"set_volts":3,"current_density_ma_cm2":null,"thickness_by_volts_nm":12,"fraction":0.1,"seconds_left":null}}`, string(line))
}

func TestTickerMakesUpForNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		began := time.Now()
		var at []time.Duration
		for i := range 6 {
			now, err := ticker.Next(t.Context())
			require.NoError(t, err)
			at = append(at, now.Sub(began))
			if i == 2 {
				pass(450 * time.Millisecond)
			}
		}
		ms := time.Millisecond
		assert.Equal(t, []time.Duration{0, 100 * ms, 200 * ms, 700 * ms, 800 * ms, 900 * ms}, at)
	})
	_, err := NewTicker(0)
	assert.ErrorContains(t, err, "longer than nothing")
}

func TestUnknownNumbersAreNull(t *testing.T) {
	for n, want := range map[Number]string{1.5: "1.5", 0: "0", Number(math.Copysign(0, -1)): "0", 1e-7: "1e-07", Number(-3): "-3"} {
		text, err := json.Marshal(n)
		require.NoError(t, err)
		assert.Equal(t, want, string(text))
	}
	text, err := json.Marshal(Unknown())
	require.NoError(t, err)
	assert.Equal(t, "null", string(text))
}
