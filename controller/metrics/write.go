package metrics

import (
	"github.com/prometheus/client_golang/prometheus"

	"anodized/controller"
	"anodized/controller/process"
)

// writer hands metrics to a scrape.
type writer struct{ out chan<- prometheus.Metric }

func (w writer) gauge(m *metric, value float64, labels ...string) {
	w.out <- prometheus.MustNewConstMetric(m.desc, prometheus.GaugeValue, value, labels...)
}

func (w writer) count(m *metric, value float64, labels ...string) {
	w.out <- prometheus.MustNewConstMetric(m.desc, prometheus.CounterValue, value, labels...)
}

// times writes a histogram, whose buckets count all that is not above their bound.
func (w writer) times(m *metric, t controller.Times) {
	buckets, below := make(map[float64]uint64, len(controller.TimeBounds)), uint64(0)
	for i, bound := range controller.TimeBounds {
		below += t.Within[i]
		buckets[float64(bound)] = below
	}
	w.out <- prometheus.MustNewConstHistogram(m.desc, t.Count, float64(t.Sum), buckets)
}

// known writes a number times a factor, and nothing where it is not known.
func (w writer) known(m *metric, n controller.Number, factor float64, labels ...string) {
	if n.Known() {
		w.gauge(m, float64(n)*factor, labels...)
	}
}

// flag writes 1 for yes and 0 for no.
func (w writer) flag(m *metric, yes bool, labels ...string) {
	value := 0.0
	if yes {
		value = 1
	}
	w.gauge(m, value, labels...)
}

// The factors from the units of a snapshot to base units.
const (
	metresANanometre           = 1e-9
	squareMetresACentimetre    = 1e-4
	amperesAMilliampereDensity = 10 // 1 mA/cm² is 10 A/m²
	secondsAMillisecond        = 1e-3
)

func (w writer) bench(s *controller.Snapshot) {
	w.known(supplyVolts, s.Supply.Volts, 1)
	w.known(supplyAmperes, s.Supply.Amperes, 1)
	w.known(supplySetVolts, s.Supply.SetVolts, 1)
	for _, output := range []string{"on", "off", "unknown"} {
		w.flag(supplyOutput, s.Supply.Output == output, output)
	}
	w.known(bathCelsius, s.Bath.Celsius, 1)
	for i, channel := range []string{"1", "2"} {
		w.flag(interlock, s.Interlock.Channels[i], channel)
	}
	w.known(readingAge, s.Supply.AgeMS, secondsAMillisecond, "supply")
	w.known(readingAge, s.Interlock.AgeMS, secondsAMillisecond, "interlock")
	w.known(readingAge, s.Bath.AgeMS, secondsAMillisecond, "thermometer")
	if s.Ventilation.Fitted {
		w.known(readingAge, s.Ventilation.AgeMS, secondsAMillisecond, "ventilation")
	}
	if s.Voltmeter.Fitted {
		w.known(readingAge, s.Voltmeter.AgeMS, secondsAMillisecond, "voltmeter")
	}
	w.flag(simulated, s.Simulated)
}

func (w writer) estimates(s *controller.Snapshot) {
	e := s.Estimates
	w.known(filmMetres, e.ThicknessByVolts, metresANanometre)
	w.known(filmByCharge, e.ThicknessByCharge, metresANanometre)
	w.known(liveArea, e.LiveArea, squareMetresACentimetre)
	w.known(charge, e.Charge, 1)
	w.known(density, e.Density, amperesAMilliampereDensity)
	w.known(bathSeries, e.SeriesOhm, 1)
	w.known(progress, s.Progress.Fraction, 1)
	for one := process.Idle; one <= process.Refused; one++ {
		w.flag(state, s.State == one.String(), one.String())
	}
}

func (w writer) loop(s *controller.Snapshot) {
	w.count(ticks, float64(s.Tick))
	w.times(tickDuration, s.Loop.Long)
	w.times(tickLateness, s.Loop.Late)
	w.count(tickOverruns, float64(s.Loop.Overruns))
	w.count(rowsDropped, float64(s.Loop.Dropped))
	for _, device := range []struct {
		name   string
		errors uint64
	}{
		{"supply", s.Loop.Errors.Supply}, {"interlock", s.Loop.Errors.Interlock},
		{"thermometer", s.Loop.Errors.Thermometer}, {"contactor", s.Loop.Errors.Contactor},
		{"emergency_stop", s.Loop.Errors.EmergencyStop}, {"ventilation", s.Loop.Errors.Ventilation}, {"beacon", s.Loop.Errors.Beacon},
		{"voltmeter", s.Loop.Errors.Voltmeter},
	} {
		w.count(deviceErrors, float64(device.errors), device.name)
	}
}

func (w writer) journal(j Journal) {
	w.gauge(journalQueue, float64(j.QueueRows))
	w.count(journalRows, float64(j.Rows))
	w.gauge(journalWrite, j.WriteSeconds)
}
