package modbus

import (
	"fmt"
	"math"

	"anodized/hal"
)

var nan = math.NaN()

// grace is the part of a step by which a value may miss it and still count as it:
// 1.15 / 0.01 is 114.99999999999999 in binary.
const grace = 1e-6

// step is the resolution of a setpoint, in V or A.
func (q *Quantity) step() float64 {
	if q.Type == "f32" {
		return q.Step
	}
	return q.Scale
}

// encode rounds a setpoint down to its step and returns its registers.
func (q *Quantity) encode(value float64) []uint16 {
	steps := math.Floor(value/q.step() + grace)
	switch q.Type {
	case "f32":
		return q.ordered(math.Float32bits(float32(steps * q.step() / q.Scale)))
	case "u32", "i32":
		return q.ordered(uint32(int64(steps)))
	}
	return []uint16{uint16(int64(steps))}
}

// floor is the least setpoint: the map's min, rounded up to a step.
func (q *Quantity) floor() float64 {
	return tidy(max(0, math.Ceil(q.Min/q.step()-grace)) * q.step())
}

func (q *Quantity) ordered(bits uint32) []uint16 {
	high, low := uint16(bits>>16), uint16(bits)
	if q.Order == "low_first" {
		return []uint16{low, high}
	}
	return []uint16{high, low}
}

// decode returns what registers mean. What the map's limits exclude is no reading: it
// may be of another order, another scale, or another register.
func (q *Quantity) decode(raw []uint16) (float64, error) {
	value := tidy(q.number(raw) * q.Scale)
	if !(value >= q.Min-1e-9 && value <= q.Max+1e-9) {
		return nan, fmt.Errorf("%04X is %v: %w: %v to %v are possible", raw, value, hal.ErrNoReading, q.Min, q.Max)
	}
	return value, nil
}

// number is the count, exact for every type.
func (q *Quantity) number(raw []uint16) float64 {
	if len(raw) == 1 {
		if q.Type == "i16" {
			return float64(int16(raw[0]))
		}
		return float64(raw[0])
	}
	bits := uint32(raw[0])<<16 | uint32(raw[1])
	if q.Order == "low_first" {
		bits = uint32(raw[1])<<16 | uint32(raw[0])
	}
	switch q.Type {
	case "f32":
		return float64(math.Float32frombits(bits))
	case "i32":
		return float64(int32(bits))
	}
	return float64(bits)
}

// tidy takes off the dust that a scale such as 0.01 leaves on a product, so that 1240
// counts are 12.4.
func tidy(value float64) float64 {
	if rounded := math.Round(value*1e9) / 1e9; math.Abs(rounded-value) < 1e-9 {
		return rounded
	}
	return value
}
