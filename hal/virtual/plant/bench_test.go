package plant

import "testing"

// The load of the figures: eight like spacers, 200 cm², 1 V/s to 70 V in steps of
// a tick, then the hold; three minutes in all.
func threeMinutes(b *testing.B, p *Plant) {
	for tick := range 1800 {
		volts := min(70, 0.1*float64(tick))
		p.Command(volts, 1)
		p.Advance(float64(tick+1)/10, 1e9)
		p.Read()
	}
}

func BenchmarkThreeMinutesOfEightLikeParts(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		p, err := New(Default(), like(8, 24.976, 0), 1)
		if err != nil {
			b.Fatal(err)
		}
		p.Switch(true)
		threeMinutes(b, p)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1800, "ns/tick")
}

func BenchmarkThreeMinutesOfEightDifferentParts(b *testing.B) {
	parts := like(8, 24.976, 0)
	for i := range parts {
		parts[i].Area += float64(i) / 10
	}
	for b.Loop() {
		p, err := New(Default(), parts, 1)
		if err != nil {
			b.Fatal(err)
		}
		p.Switch(true)
		threeMinutes(b, p)
	}
}
