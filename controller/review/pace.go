package review

import (
	"math"

	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// pace is how fast the volts rise from a row over the next two seconds, NaN where
// the curve has less than one.
func pace(rows []record.Row, smooth []float64, from int) float64 {
	to := from
	for to+1 < len(rows) && rows[to+1].T-rows[from].T <= 2 {
		to++
	}
	if span := float64(rows[to].T - rows[from].T); span > 1 {
		return (smooth[to] - smooth[from]) / span
	}
	return math.NaN()
}

// rampOf is the median pace between 15 and 80 % of the highest volts; volts that
// stepped there took a second at most.
func rampOf(rows []record.Row, smooth []float64, top float64) unit.VoltsPerSecond {
	var paces []float64
	for i := range rows {
		ramping := process.State(rows[i].State) == process.Ramping && smooth[i] > 0.15*top && smooth[i] < 0.8*top
		if p := pace(rows, smooth, i); ramping && p > 0 {
			paces = append(paces, p)
		}
	}
	if len(paces) == 0 {
		return unit.VoltsPerSecond(math.Max(top, 0.01))
	}
	return unit.VoltsPerSecond(median(paces))
}

// A slow beginning counts as a contact check where it lies between these volts and
// is slower than this share of the ramp.
const (
	leastCheck = 1.5
	mostCheck  = 15.0
	slowShare  = 0.75
)

// markCheck makes a slow beginning of the ramp a contact check, and returns its
// pace; 0 where there is none.
func markCheck(rows []record.Row, smooth []float64, ramp unit.VoltsPerSecond) unit.VoltsPerSecond {
	var slow []float64
	first := -1
	for i := range rows {
		if process.State(rows[i].State) != process.Ramping {
			continue
		}
		if first < 0 {
			first = i
		}
		p := pace(rows, smooth, i)
		if math.IsNaN(p) || smooth[i] > mostCheck {
			return 0
		}
		if p >= slowShare*float64(ramp) {
			return checked(rows[first:i], smooth[i], slow)
		}
		slow = append(slow, p)
	}
	return 0
}

func checked(rows []record.Row, volts float64, slow []float64) unit.VoltsPerSecond {
	if volts < leastCheck || len(slow) == 0 {
		return 0
	}
	for i := range rows {
		rows[i].State = uint8(process.ContactCheck)
	}
	return unit.VoltsPerSecond(math.Max(median(slow), 0.01))
}
