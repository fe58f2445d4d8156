package proof

import "fmt"

// fill is how much of a tick its talk may take, in the median: the rest is for retries,
// and for the off that nobody planned. Our choice.
const fill = 0.8

// rates are the ticks a second that a bench may run at, the usual one first.
var rates = []int{10, 5}

// Carries judges the talk of whole ticks, in ms.
func Carries(ticks []float64) Link {
	traffic, _ := Spread(ticks)
	l := Link{Traffic: traffic, Ticks: len(ticks)}
	if !traffic.Median.Known() {
		l.Why = "no tick was talked through"
		return l
	}
	for _, rate := range rates {
		if float64(traffic.Median) <= fill*1000/float64(rate) {
			l.RateHz = rate
			break
		}
	}
	if l.OK = l.RateHz > 0; !l.OK {
		l.Why = fmt.Sprintf("the talk of a tick takes %.0f ms, more than 5 Hz carries: raise the baud rate, use another link, or ask for less in the dialect", float64(traffic.Median))
	}
	return l
}
