package modbus

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal"
	_ "anodized/hal/haltest/draw" // the same cases on each run
)

// TestPublishedFloat: 123456.0 in the two orders of words that public libraries show;
// 95.4 is 42 BE CC CD (computed independently).
func TestPublishedFloat(t *testing.T) {
	text, err := os.ReadFile("testdata/published/modbus_frames_crc_lrc_tcp.json")
	require.NoError(t, err)
	var published struct {
		Order struct {
			Value      float64
			ABCD, CDAB []string
		} `json:"float_word_order"`
	}
	require.NoError(t, json.Unmarshal(text, &published))
	for order, words := range map[string][]string{"high_first": published.Order.ABCD, "low_first": published.Order.CDAB} {
		q := Quantity{Type: "f32", Order: order, Scale: 1, Step: 1, Min: 0, Max: 1e6}
		raw := make([]uint16, 2)
		for i, word := range words {
			n, err := strconv.ParseUint(word, 16, 16)
			require.NoError(t, err)
			raw[i] = uint16(n)
		}
		value, err := q.decode(raw)
		require.NoError(t, err)
		require.Equal(t, published.Order.Value, value)
		require.Equal(t, raw, q.encode(published.Order.Value))
	}
	q := Quantity{Type: "f32", Order: "high_first", Scale: 1, Step: 0.1, Min: 0, Max: 130}
	require.Equal(t, []uint16{0x42BE, 0xCCCD}, q.encode(95.4))
}

// TestWrongOrderIsNoReading: 95.398 V read the wrong way round is 1957036.033 V.
func TestWrongOrderIsNoReading(t *testing.T) {
	q := exampleMap().MeasuredVoltage
	value, err := q.decode([]uint16{0x74A6, 0x0001})
	require.ErrorIs(t, err, hal.ErrNoReading)
	require.ErrorContains(t, err, "1.957036033e+06")
	require.True(t, math.IsNaN(value))
	f := Quantity{Type: "f32", Order: "high_first", Scale: 1, Min: -1, Max: 130}
	_, err = f.decode([]uint16{0x7FC0, 0})
	require.ErrorIs(t, err, hal.ErrNoReading, "not a number is no number")
}

// TestSetpointsRoundDown: for every type, what is encoded means at most what was asked
// for, and misses it by less than a step.
func TestSetpointsRoundDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := Quantity{
			Type:  rapid.SampledFrom([]string{"u16", "i16", "u32", "i32", "f32"}).Draw(t, "type"),
			Order: rapid.SampledFrom([]string{"high_first", "low_first"}).Draw(t, "order"),
			Scale: rapid.SampledFrom([]float64{0.001, 0.01, 0.1, 0.02, 1}).Draw(t, "scale"),
			Step:  0.01, Min: 0, Max: 30,
		}
		value := rapid.Float64Range(0, 30).Draw(t, "value")
		held, err := q.decode(q.encode(value))
		require.NoError(t, err)
		require.LessOrEqual(t, held, value+q.step()*1e-5+1e-5)
		require.Greater(t, held, value-q.step()*1.00001-1e-5)
	})
}

func TestMapsRefused(t *testing.T) {
	for want, spoil := range map[string]func(*Map){
		`setpoint_voltage: type "u8"`:             func(m *Map) { m.SetpointVoltage.Type = "u8" },
		`a setpoint is in holding`:                func(m *Map) { m.SetpointCurrent.Table = "input" },
		`order "": high_first or low_first`:       func(m *Map) { m.MeasuredVoltage.Order = "" },
		`address 65535`:                           func(m *Map) { m.MeasuredVoltage.Address = 65535 },
		`scale 0`:                                 func(m *Map) { m.MeasuredVoltage.Scale = 0 },
		`min must be below max`:                   func(m *Map) { m.MeasuredVoltage.Max = -2 },
		`u16 with a scale of 0.001 holds 0 to 65`: func(m *Map) { m.SetpointVoltage.Scale = 0.001 },
		`a setpoint is not negative`:              func(m *Map) { m.SetpointVoltage.Min, m.SetpointVoltage.Type = -1, "i16" },
		`needs one above 0`:                       func(m *Map) { m.SetpointVoltage.Type, m.SetpointVoltage.Order = "f32", "low_first" },
		`output: table "input"`:                   func(m *Map) { m.Output.Table = "input" },
		`both 1`:                                  func(m *Map) { m.Output.Halted = 1 },
		`0 to 1 are allowed`:                      func(m *Map) { m.Output = Output{Table: "coil", Energised: 2} },
		`output: address -1`:                      func(m *Map) { m.Output.Address = -1 },
		`status: table "coil"`:                    func(m *Map) { m.Status.Table = "coil" },
		`status: address 65536`:                   func(m *Map) { m.Status.Address = 65536 },
		`each is from 0 to 15`:                    func(m *Map) { m.Status.CC = 16 },
		`means one thing`:                         func(m *Map) { m.Status.CC = 0 },
		`measured_voltage and measured_current`:   func(m *Map) { m.MeasuredCurrent.Address = 0x101 },
		`setpoint_current and output share`:       func(m *Map) { m.Output.Address = 1 },
	} {
		m := exampleMap()
		spoil(&m)
		require.ErrorContains(t, m.check(), want)
	}
}

// TestUnusualQuestions: a question of a length that no other has, within the map.
func TestUnusualQuestions(t *testing.T) {
	m := exampleMap()
	all := blocks(m.spans()...)
	require.Equal(t, []block{{"holding", 0, 3}, {"input", 0x100, 5}}, all)
	require.Equal(t, reading(readHolding, 0, 2), unusual(all, []block{{"holding", 0, 1}}))
	require.Nil(t, unusual([]block{{"holding", 0, 1}, {"input", 9, 1}}))
	require.Nil(t, unusual([]block{{"coil", 0, 8}}), "lengths of coils do not show")
}
