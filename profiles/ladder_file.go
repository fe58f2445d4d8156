package profiles

import (
	"bytes"
	"fmt"
	"strconv"

	"anodized/hal/unit"
)

const mostCoupons = 100

// ReadLadder reads a ladder. The error is [Mistakes], all of them. A metal or a bath
// given as a path is found from the folder of the file.
func ReadLadder(file string, data []byte) (Ladder, error) {
	r := &report{file: file}
	var l Ladder
	if n := r.parse(data); n != nil {
		g := r.fields(n, "a ladder", ladderFields(r, &l))
		if g.all("current density", "end") && l.End.CurrentDensity >= l.CurrentDensity {
			r.say(g.seen["end"], "end: its current density of %s must be below the limit of %s", l.End.CurrentDensity, l.CurrentDensity)
		}
	}
	return l, r.err()
}

func ladderFields(r *report, l *Ladder) []field {
	return []field{
		need("ladder", "spring-2026", identifier(&l.ID)),
		need("metal", DefaultMetal, named(r, &l.Metal, "metal", MetalIDs)),
		need("bath", "bicarbonate", named(r, &l.Bath, "bath", BathIDs)),
		may("finish", text(&l.Finish, 100)),
		need("rack", "one headset spacer", text(&l.Rack, 1000)),
		need("ramp", "1 V/s", quantity(&l.Ramp, leastRamp, mostRamp)),
		need("current density", "5 mA/cm2", quantity(&l.CurrentDensity, leastDensity, mostDensity)),
		need("end", "{current density: 0.15 mA/cm2}", func(r *report, n *node) { r.end(n, &l.End) }),
		need("coupons", "[{volts: 20 V}]", each(mostCoupons, "a list of coupons", add(&l.Coupons, (*report).coupon))),
	}
}

func (r *report) coupon(n *node, c *Coupon) {
	r.fields(n, "a coupon", []field{
		need("volts", "20 V", quantity(&c.Volts, leastTarget, mostTarget)),
		may("run", text(&c.Run, 100)),
		may("end current density", quantity(&c.End, leastEnd, mostDensity)),
		may("simulated", truth(&c.Simulated)),
		may("Lab", lab(&c.Lab)),
	})
}

// Text is the ladder as a file that [ReadLadder] reads back to the bit.
func (l Ladder) Text() []byte {
	to := lines{}
	to.add(true, "ladder", l.ID)
	to.add(true, "metal", strconv.Quote(l.Metal))
	to.add(true, "bath", strconv.Quote(l.Bath))
	to.add(l.Finish != "", "finish", strconv.Quote(l.Finish))
	to.add(true, "rack", strconv.Quote(l.Rack))
	to.add(true, "ramp", unit.Format(l.Ramp))
	to.add(true, "current density", unit.Format(l.CurrentDensity))
	to.end(l.End)
	to.WriteString("coupons:\n")
	for _, c := range l.Coupons {
		to.add(true, "  - volts", unit.Format(c.Volts))
		to.add(c.Run != "", "    run", strconv.Quote(c.Run))
		to.add(c.End > 0, "    end current density", unit.Format(c.End))
		to.add(c.Simulated, "    simulated", "true")
		if c.Lab != nil {
			plain := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
			to.add(true, "    Lab", fmt.Sprintf("[%s, %s, %s]", plain(c.Lab[0]), plain(c.Lab[1]), plain(c.Lab[2])))
		}
	}
	return to.Bytes()
}

// CouponName is what a coupon, from 0, is called in the record and on its label.
func (l Ladder) CouponName(coupon int) string {
	return fmt.Sprintf("%s coupon %d of %d", l.ID, coupon+1, len(l.Coupons))
}

// lines are the lines of a file that is written.
type lines struct{ bytes.Buffer }

// add writes a key with its value, where there is one.
func (to *lines) add(given bool, key, value string) {
	if given {
		fmt.Fprintf(to, "%s: %s\n", key, value)
	}
}

// end writes an end criterion.
func (to *lines) end(end End) {
	to.WriteString("end:\n")
	to.add(end.Time > 0, "  time", unit.Format(end.Time))
	byDensity := end.Time == 0
	to.add(byDensity, "  current density", unit.Format(end.CurrentDensity))
	to.add(byDensity, "  sustained", unit.Format(end.Sustained))
	to.add(byDensity && end.LeastHold > 0, "  least hold", unit.Format(end.LeastHold))
	to.add(byDensity && end.LongestHold > 0, "  longest hold", unit.Format(end.LongestHold))
}
