package match_test

import (
	"math/rand/v2"
	"testing"

	colorful "github.com/lucasb-eyer/go-colorful"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
	"anodized/controller/match"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

// clamp is a seat clamp run at 49 V that is to look like one of 50 V: the worked
// example of the design, computed independently.
var clamp = match.Piece{Name: "clamp", Volts: 49, Measured: colour.Lab{L: 83.15, A: -9.03, B: 23.72}}

func goalAt(b match.Basis, d unit.Nanometres) match.Goal {
	return match.Goal{Lab: b.Surface.Lab(d), Tolerance: match.UsualTolerance}
}

func TestAClampThatIsAVoltShort(t *testing.T) {
	ladder := book(t)
	ladder.SlopeSD, ladder.OffsetSD = 0.0197, 0.5 // 1 %
	for name, b := range map[string]match.Basis{"a ladder's": ladder, "the book's": book(t)} {
		o := b.Judge(clamp, goalAt(b, 100), match.UsualSD)
		assert.Equal(t, match.StepUp, o.Verdict, name)
		assert.InDelta(t, 98.18, float64(o.Film.Thickness), 0.01)
		assert.InDelta(t, 0.24, o.Film.Residual, 0.005)
		assert.InDelta(t, 0.14, float64(o.Film.SD), 0.005)
		assert.InDelta(t, 100, float64(o.Goal), 0.01)
		assert.InDelta(t, 0.76, float64(o.Add), 0.015, name)
		assert.InDelta(t, 49.76, float64(o.To), 0.015)
		assert.InDelta(t, 2, o.DE00, 0.3)
		assert.Less(t, o.Expected, 0.5)
	}
}

func TestVerdicts(t *testing.T) {
	b := book(t)
	at := func(v unit.Volts) match.Piece {
		return match.Piece{Volts: v, Measured: b.Surface.Lab(b.Scale.Thickness(v))}
	}
	grey := match.Piece{Volts: 60, Measured: colour.Lab{L: 50}}
	dull := at(50)
	dull.Measured.L -= 2.5 // another gloss
	for _, c := range []struct {
		name  string
		piece match.Piece
		goal  match.Goal
		want  match.Verdict
		why   string
	}{
		{"alike", at(50), goalAt(b, 100), match.Accept, "within"},
		{"short", at(48), goalAt(b, 100), match.StepUp, "3.9 nm short"},
		{"past", at(52), goalAt(b, 100), match.Overshot, "3.9 nm past"},
		{"another finish", dull, goalAt(b, 100), match.Nearest, "no step brings it nearer"},
		{"no colour of a film", grey, goalAt(b, 100), match.Doubtful, "no film near these volts has this colour"},
		{"a goal of no film", at(48), match.Goal{Lab: colour.Lab{L: 50}, Tolerance: 1}, match.Doubtful, "no film near the piece's"},
		{"another order by its volts", at(25), match.Goal{Lab: b.Surface.Lab(164), Tolerance: 1, Volts: 82.5}, match.StepUp, "nm short"},
	} {
		o := b.Judge(c.piece, c.goal, match.UsualSD)
		assert.Equal(t, c.want, o.Verdict, "%s: %s", c.name, o.Why)
		assert.Contains(t, o.Why, c.why, c.name)
		assert.Equal(t, c.want == match.StepUp, o.Add > 0, c.name)
	}
}

// The volts decide the order: the colour of 53.5 nm is nearly that of 164 nm.
func TestTheVoltsDecideTheOrder(t *testing.T) {
	b := book(t)
	for _, d := range []unit.Nanometres{53.5, 164} {
		f := b.Film(match.Piece{Measured: b.Surface.Lab(d), Volts: b.Scale.Volts(d)}, match.UsualSD)
		assert.InDelta(t, float64(d), float64(f.Thickness), 0.01)
		assert.Empty(t, f.Doubt)
	}
}

// Without noise and whatever the true slope within what is believed, a step never
// passes the goal's film.
func TestAStepNeverPasses(t *testing.T) {
	b := book(t)
	rapid.Check(t, func(t *rapid.T) {
		slope := b.Scale.NMPerVolt * rapid.Float64Range(0.8, 1.2).Draw(t, "slope")
		v := rapid.Float64Range(12, 100).Draw(t, "volts")
		gap := rapid.Float64Range(0.1, 12).Draw(t, "gap")
		offset := float64(b.Scale.Offset) + rapid.Float64Range(-1, 1).Draw(t, "offset")
		film := offset + slope*v
		goal := goalAt(b, unit.Nanometres(film+gap))
		o := b.Judge(match.Piece{Measured: b.Surface.Lab(unit.Nanometres(film)), Volts: unit.Volts(v)}, goal, match.UsualSD)
		if o.Verdict != match.StepUp {
			return
		}
		after := unit.Nanometres(film + slope*float64(o.Add))
		if after > unit.Nanometres(film+gap) {
			assert.LessOrEqual(t, colour.Difference(b.Surface.Lab(after), goal.Lab), match.UsualTolerance/2)
		}
	})
}

func TestACalibrationThatIsNotOfThisBath(t *testing.T) {
	b := book(t)
	b.SlopeSD, b.OffsetSD = 0.002, 0.1
	o := b.Judge(match.Piece{Volts: 50, Measured: b.Surface.Lab(104)}, goalAt(b, 108), match.UsualSD)
	assert.Equal(t, match.StepUp, o.Verdict)
	assert.True(t, o.Moved)
	assert.InDelta(t, (104-1.5)/50, o.NMPerVolt, 1e-3, "the piece is right")
	assert.Less(t, float64(o.Add), 4/2.05)
}

func TestLimitSamplesDecideOnTheirSide(t *testing.T) {
	b := book(t)
	light, dark := [3]float64(b.Surface.Lab(97).Array()), [3]float64(b.Surface.Lab(100.4).Array())
	goal := match.GoalOf(profiles.Master{Lab: b.Surface.Lab(100).Array(), Light: &light, Dark: &dark})
	judge := func(d unit.Nanometres) match.Verdict {
		return b.Judge(match.Piece{Volts: b.Scale.Volts(d), Measured: b.Surface.Lab(d)}, goal, match.UsualSD).Verdict
	}
	assert.Equal(t, match.Accept, judge(97.2), "as far as the light sample")
	assert.Equal(t, match.StepUp, judge(96.5))
	assert.Equal(t, match.Accept, judge(100.3))
	assert.Equal(t, match.Overshot, judge(101.5), "past the dark sample, though within the usual tolerance of it")
	assert.Equal(t, match.UsualTolerance, match.GoalOf(profiles.Master{}).Tolerance)
}

// The differences of a set are those of an independent library.
func TestASetAgainstAnIndependentLibrary(t *testing.T) {
	b := book(t)
	random := rand.New(rand.NewPCG(1, 2))
	var pieces []match.Piece
	for range 30 {
		d := unit.Nanometres(10 + 200*random.Float64())
		lab := b.Surface.Lab(d)
		pieces = append(pieces, match.Piece{Volts: b.Scale.Volts(d), Measured: colour.Lab{L: lab.L, A: lab.A + random.NormFloat64(), B: lab.B + random.NormFloat64()}})
	}
	master := goalAt(b, 100)
	s := b.JudgeSet(pieces, &master, match.UsualLimits(), match.UsualSD)
	require.Len(t, s.Pairs, 30*29/2)
	of := func(c colour.Lab) colorful.Color { return colorful.Lab(c.L/100, c.A/100, c.B/100) }
	worst := 0.0
	for _, p := range s.Pairs {
		want := 100 * of(pieces[p.One].Measured).DistanceCIEDE2000(of(pieces[p.Two].Measured))
		assert.InDelta(t, want, p.DE00, 1e-2)
		worst = max(worst, want-p.DE00, p.DE00-want)
	}
	for _, p := range s.ToMaster {
		assert.InDelta(t, 100*of(pieces[p.One].Measured).DistanceCIEDE2000(of(master.Lab)), p.DE00, 1e-2)
	}
	t.Logf("%d pairs, worst difference %.1e", len(s.Pairs), worst)
}

func TestThePieceFurthestAheadSetsTheGoal(t *testing.T) {
	b := book(t)
	piece := func(d unit.Nanometres) match.Piece {
		return match.Piece{Volts: b.Scale.Volts(d), Measured: b.Surface.Lab(d)}
	}
	set := []match.Piece{piece(97), piece(99.5), piece(98)}
	s := b.JudgeSet(set, nil, match.UsualLimits(), match.UsualSD)
	assert.Equal(t, 1, s.Ahead)
	assert.True(t, s.ByPiece)
	assert.Equal(t, match.Reject, s.Mark)
	assert.Equal(t, 0, s.Worst.One)
	assert.Equal(t, 1, s.Worst.Two)
	assert.Equal(t, match.StepUp, s.Pieces[0].Verdict)
	assert.Equal(t, match.Accept, s.Pieces[1].Verdict)
	assert.InDelta(t, 99.5, float64(s.Film), 0.05)

	master := goalAt(b, 101)
	s = b.JudgeSet(set, &master, match.UsualLimits(), match.UsualSD)
	assert.False(t, s.ByPiece, "the master is ahead of all")
	assert.InDelta(t, 101, float64(s.Film), 0.05)
	assert.Equal(t, match.StepUp, s.Pieces[1].Verdict)

	master = goalAt(b, 98)
	s = b.JudgeSet(set, &master, match.UsualLimits(), match.UsualSD)
	assert.True(t, s.ByPiece, "one is past the master: nothing goes back")
	assert.Equal(t, match.StepUp, s.Pieces[0].Verdict)

	s = b.JudgeSet([]match.Piece{piece(99), piece(99.1)}, nil, match.UsualLimits(), match.UsualSD)
	assert.Equal(t, match.Good, s.Mark)
	grey := match.Piece{Volts: 50, Measured: colour.Lab{L: 50}}
	s = b.JudgeSet([]match.Piece{grey, grey}, nil, match.UsualLimits(), match.UsualSD)
	assert.Equal(t, -1, s.Ahead)
	assert.Empty(t, s.Pieces)
}

func BenchmarkJudge(b *testing.B) {
	basis := book(b)
	goal := goalAt(basis, 100)
	b.ReportAllocs()
	for b.Loop() {
		basis.Judge(clamp, goal, match.UsualSD)
	}
}
