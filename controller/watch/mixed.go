package watch

import (
	"math"

	"anodized/controller/fault"
)

// mixed finds parts that carried a film already and join when its volts are reached:
// the charge that a nanometre takes rises to a new level and stays. It is kept by
// volts, since the rise takes a third of the onset's volts at any pace.
type mixed struct {
	sum, n [mixedBins]float64
	last   int                // bin of the last reading
	series [mixedBins]float64 // ohm, as the regression saw it then
	knows  [mixedBins]bool    // that it saw it
}

const (
	mixedBins  = 64   // of
	mixedWidth = 2.0  // V
	mixedLevel = 3    // bins make a level
	mixedFrom  = 0.65 // of the volts now: what was there before the rise
	mixedFlat  = 0.25 // of the rise, that a level may still differ by from end to end
	mixedPeak  = 0.5  // of the threshold, above the new level: a part that is back overshoots it
	mixedVolts = 20.0 // V: before, a bath that resists more than expected still bends the ratio

	mixedSettles = 4.0 // s after which the start of a ramp no longer bends the ratio
)

// joining takes the ratio of a reading and judges each time a bin is full.
func (w *Watch) joining(s *sample) {
	m := &w.mixed
	bin := int(s.v / mixedWidth)
	settled := s.t-w.contact.rampStart > mixedSettles
	if !settled || !(s.whole > 0) || bin < 0 || bin >= mixedBins {
		return
	}
	if bin == m.last+1 && m.last >= 0 {
		w.joined(s.t, m.last)
	}
	m.sum[bin] += s.whole
	m.n[bin]++
	if w.live.ok {
		m.series[bin], m.knows[bin] = w.live.series, true
	}
	m.last = max(m.last, bin)
}

// level is the mean ratio of the bins that end with one; false where one is empty.
func (m *mixed) level(last int) (float64, bool) {
	sum, n := 0.0, 0.0
	for k := last - mixedLevel + 1; k <= last; k++ {
		if k < 0 || m.n[k] == 0 {
			return 0, false
		}
		sum += m.sum[k] / m.n[k]
		n++
	}
	return sum / n, true
}

func (m *mixed) at(bin int) float64 { return m.sum[bin] / m.n[bin] }

// joined compares the level that ends with a bin with that of before the rise. The
// rise must be over: a leak goes on rising with the volts, and a contact that came
// back overshoots.
func (w *Watch) joined(now float64, last int) {
	m := &w.mixed
	if float64(last)*mixedWidth < mixedVolts {
		return
	}
	high, ok := m.level(last)
	low, was := m.level(int(mixedFrom * float64(last)))
	if !ok || !was || min(high, low) <= 0 {
		return
	}
	rise := high/low - 1
	threshold := max(max(w.most.JoinShare, w.share()), 3*w.contact.changes.scatter(0.02)) // three of a reading are six of the mean
	flat := math.Abs(m.at(last)/m.at(last-mixedLevel+1)-1) < mixedFlat*rise
	peak := max(m.at(last), max(m.at(last-1), m.at(last-2)))
	before := int(mixedFrom * float64(last))
	if w.series() > 0 && !(m.knows[before] && m.series[before] <= w.most.MostSeries*w.series()) {
		return // leads or bath bend the ratio, and are told; the rise itself also looks like them
	}
	if rise > threshold && flat && peak < (1+mixedPeak*threshold)*high {
		w.found.add(fault.MixedRack, now, "likely", w.onsetOfRise(last, low, high), 100*rise/(1+rise))
	}
}

// onsetOfRise is the first volts at which a fifth of the rise was there.
func (w *Watch) onsetOfRise(last int, low, high float64) float64 {
	m := &w.mixed
	for k := int(mixedFrom * float64(last)); k < last; k++ {
		if m.n[k] > 0 && m.at(k) > low+0.2*(high-low) {
			return float64(k) * mixedWidth
		}
	}
	return float64(last) * mixedWidth
}
