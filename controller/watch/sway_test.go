package watch_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
)

// gas is a slow noise of the current: waves of 0.3 s, of so much of it.
func gas(seed uint64, relative float64) change {
	random, wave := rand.New(rand.NewPCG(seed, 0)), 0.0
	keep := math.Exp(-0.1 / 0.3)
	return func(_ int, k *watch.Tick) {
		wave = keep*wave + math.Sqrt(1-keep*keep)*random.NormFloat64()
		k.Amperes *= unit.Amperes(1 + relative*wave)
	}
}

// ofTwenty runs a rack of twenty parts, of which one is judged by four per cent.
func ofTwenty(changes ...change) (trip fault.Code, at float64) {
	p := reference()
	p.Parts, p.SmallestPart = 20, 10
	w := watch.New(p, bench)
	for n, k := range curve(p) {
		for _, c := range changes {
			c(n, &k)
		}
		w.Update(k)
		if w.Trip() != "" {
			return w.Trip(), float64(k.T)
		}
	}
	return "", math.NaN()
}

func TestSlowNoiseIsNoLostPart(t *testing.T) {
	for _, seed := range []uint64{1, 2, 3, 245, 676, 696, 1270, 1305} { // the last five tripped once
		trip, at := ofTwenty(gas(seed, 0.01))
		assert.Empty(t, trip, "seed %d at %.1f s", seed, at)
	}
}

func TestALostPartIsSeenInSlowNoise(t *testing.T) {
	for name, from := range map[string]float64{"ramp": 45, "hold": 95} {
		for seed := range uint64(5) {
			trip, at := ofTwenty(gas(seed, 0.004), between(from, 150, 0.875))
			assert.Equal(t, fault.ContactLost, trip, "%s, seed %d", name, seed)
			assert.Less(t, at, from+2.5, "%s, seed %d", name, seed)
		}
	}
}
