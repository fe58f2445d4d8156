package spectral

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

const (
	integration = mostCount * 2780 * time.Nanosecond
	settled     = 5 * time.Millisecond  // of the lamp, and the longest of the multiplexer
	longest     = 2 * integration       // of a pass; the chip's oscillator is good to some per cent
	asked       = 10 * time.Millisecond // between looks
)

// measure is both passes with the lamp on; it is off afterwards, whatever happens.
func (s *Sensor) measure(ctx context.Context) (c counts, err error) {
	if err := s.begin(); err != nil {
		return c, errors.Join(err, s.end())
	}
	for pass, words := range [][20]byte{wordsLow, wordsHigh} {
		four, failed := s.pass(ctx, words)
		if failed != nil {
			err = failed
			break
		}
		copy(c[channelsOfUse*pass:], four[:])
	}
	if err == nil {
		err = s.holds()
	}
	if off := s.end(); err == nil {
		err = off
	}
	return c, err
}

// begin powers the chip, sets what a pass needs, and lights the lamp.
func (s *Sensor) begin() error {
	for _, step := range [][]byte{
		{cfg0, bank(false)}, {enable, powerOn}, {aTime, aTimeValue}, {aStep, aStepValue & 0xFF, aStepValue >> 8}, {cfg1, s.gain},
		{cfg0, bank(true)}, {config, lampByChip}, {lamp, lampOn | s.lamp}, {cfg0, bank(false)},
	} {
		if err := s.write(step[0], step[1:]...); err != nil {
			return err
		}
	}
	return nil
}

// end puts the lamp out and the chip to sleep.
func (s *Sensor) end() error {
	var err error
	for _, step := range [][2]byte{{enable, 0}, {cfg0, bank(true)}, {lamp, 0}, {cfg0, bank(false)}} {
		if failed := s.write(step[0], step[1]); failed != nil && err == nil {
			err = failed
		}
	}
	return err
}

// pass leads four bands to the converters and lets them integrate once.
func (s *Sensor) pass(ctx context.Context, words [20]byte) (four [channelsOfUse]float64, err error) {
	if err := s.lead(ctx, words); err != nil {
		return four, err
	}
	if err := s.write(enable, powerOn|measuring); err != nil {
		return four, err
	}
	if err := pause(ctx, integration); err != nil {
		return four, err
	}
	state, err := s.until(ctx, status2, func(b byte) bool { return b&valid != 0 }, longest-integration, "its measurement does not end")
	if err != nil {
		return four, err
	}
	var answer [1 + 2*channels]byte
	if err := s.read(aStatus, answer[:]); err != nil {
		return four, err
	}
	return s.decode(state, answer)
}

// decode judges the counts of a pass.
func (s *Sensor) decode(state byte, answer [1 + 2*channels]byte) (four [channelsOfUse]float64, err error) {
	if answer[0]&saturated != 0 || state&(overAnalogue|overDigital) != 0 {
		return four, fmt.Errorf("%w: saturated: give the lamp less current, or the sensor less gain", hal.ErrNoReading)
	}
	if answer[0]&gainMask != s.gain {
		s.forget()
		return four, fmt.Errorf("%w: it measured with gain %d, not %d: it lost its power, and its references: take both again", hal.ErrNoReading, answer[0]&gainMask, s.gain)
	}
	for i := range four {
		count := binary.LittleEndian.Uint16(answer[1+2*i:])
		if count >= mostCount {
			return four, fmt.Errorf("%w: channel %d is saturated at %d counts: give the lamp less current, or the sensor less gain", hal.ErrNoReading, i, count)
		}
		four[i] = float64(count)
	}
	return four, nil
}

// lead gives the multiplexer its words while nothing is measured.
func (s *Sensor) lead(ctx context.Context, words [20]byte) error {
	for _, step := range [][]byte{{enable, powerOn}, {cfg6, wordsOut}, append([]byte{0}, words[:]...), {enable, powerOn | leading}} {
		if err := s.write(step[0], step[1:]...); err != nil {
			return err
		}
	}
	if err := pause(ctx, settled); err != nil {
		return err
	}
	_, err := s.until(ctx, enable, func(b byte) bool { return b&leading == 0 }, 10*settled, "its multiplexer does not take its words")
	return err
}

// until looks at a register until it is as wanted.
func (s *Sensor) until(ctx context.Context, register byte, done func(byte) bool, within time.Duration, why string) (byte, error) {
	for waited := time.Duration(0); ; waited += asked {
		b, err := s.byteOf(register)
		if err != nil || done(b) {
			return b, err
		}
		if waited >= within {
			return b, fmt.Errorf("%w: %s: %02X holds %02X", hal.ErrNoReading, why, register, b)
		}
		if err := pause(ctx, asked); err != nil {
			return b, err
		}
	}
}

func pause(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return fmt.Errorf("cut off: %w: %w", hal.ErrNoReading, ctx.Err())
	case <-timer.C:
		return nil
	}
}
