package watch

// The thresholds of volts that fell once.
const (
	fellBy    = 0.3  // of what the limit's current would have formed in the wait, below where it would have them
	fellSteps = 2.0  // of the meter, at least
	fellMost  = 0.02 // of the volts formed: sparks fall further, and do not wait to be told
	afterFall = 0.8  // s, in which it shows whether they rise again
	risesFrom = 0.4  // of the rate at which the limit's current forms a film: four readings of a coarse meter scatter
)

// fellOnce tells whether volts that stand on the whole of the wait fell in it and rise since
// as ever, or have not had the time to: a bath that was warmed, or a contact that closed
// again, takes some volts at once, and the film goes on growing. Where a film can spark, volts
// that fall far, or again and again, are those of sparks.
func (w *Watch) fellOnce(now, carried float64) bool {
	falls, since, sparks := 0, now, w.formed > sparkVolts
	least := max(fellBy*carried*standSeconds, fellSteps*w.noiseV.step)
	for n := range w.ring.n - 1 {
		s, before := w.ring.at(n), w.ring.at(n+1)
		if now-before.t > standSeconds+1e-9 {
			break
		}
		fall := before.v + carried*(s.t-before.t) - s.v
		if sparks && fall > fellMost*w.formed {
			return false
		}
		if fall > least {
			if falls++; falls == 1 { // the newest
				since = s.t
			}
		}
	}
	if falls == 0 || sparks && falls > 1 {
		return false
	}
	return now-since < afterFall-1e-9 || w.rise(now, now-since) > risesFrom*carried
}
