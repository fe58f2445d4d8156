package calibrate

import "math"

// numbers are what is fitted: the offset in nm, the nm per volt, and the scale of the
// film's index.
type numbers [3]float64

func (n numbers) film(volts float64) float64 { return n[0] + n[1]*volts }

// datum is a reading as the fit takes it.
type datum struct {
	volts float64 // at the ladder's end
	lab   vector
}

// model is the colour that some numbers make of some volts, and how it moves with a
// nanometre of film and with the scale of the index.
type model interface {
	at(volts float64, n numbers) (lab, byFilm, byScale vector)
}

// The bounds of what is searched; the scale's are of compact oxides.
const (
	leastOffset, mostOffset = -9.9, 19.9
	leastScale, mostScale   = 0.8, 1.2
)

// solver fits numbers to data by Levenberg and Marquardt's way, with Huber's weights: a
// reading that is further off than the knee, in CIELAB, counts by its distance, not by
// its square.
//
// K. Levenberg, Q. Appl. Math. 2 (1944) 164; D. Marquardt, J. SIAM 11 (1963) 431; P. J.
// Huber, Ann. Math. Statist. 35 (1964) 73 (all from memory).
type solver struct {
	model model
	free  int // of the numbers: 2, or 3 with the scale
	knee  float64
	slope Range // that nm per volt is held within
}

// solved is where a solver came to rest.
type solved struct {
	numbers
	loss    float64 // Huber's sum; with no knee the sum of squares
	inverse matrix  // of the normal matrix: times the variance of a reading, the covariance
}

// normal is the sum of a round: the normal matrix, the right side and the loss.
type normal struct {
	matrix matrix
	right  numbers
	loss   float64
}

func (s solver) solve(data []datum, from numbers) solved {
	here := s.normal(data, from)
	damping := 1e-3
	for range 60 {
		step, ok := here.matrix.damped(damping, s.free).solve(here.right, s.free)
		if !ok {
			break
		}
		next := s.bound(from, step)
		there := s.normal(data, next)
		if !(there.loss < here.loss) {
			if damping *= 8; damping > 1e9 {
				break
			}
			continue
		}
		moved := here.loss - there.loss
		from, here, damping = next, there, max(damping/8, 1e-9)
		if moved <= 1e-10*(here.loss+1e-9) {
			break
		}
	}
	inverse, _ := here.matrix.inverse(s.free)
	return solved{from, here.loss, inverse}
}

func (s solver) bound(n, step numbers) numbers {
	for i := range s.free {
		n[i] += step[i]
	}
	n[0] = min(max(n[0], leastOffset), mostOffset)
	n[1] = min(max(n[1], s.slope.Least), s.slope.Most)
	n[2] = min(max(n[2], leastScale), mostScale)
	return n
}

// normal adds up the readings. Huber's weights are those of the residuals as they are.
func (s solver) normal(data []datum, n numbers) (sum normal) {
	for _, d := range data {
		lab, byFilm, byScale := s.model.at(d.volts, n)
		off := d.lab.minus(lab)
		weight, loss := s.weigh(off.length())
		sum.loss += loss
		columns := [3]vector{byFilm, scaled(byFilm, d.volts), byScale}
		for i := range s.free {
			sum.right[i] += weight * columns[i].times(off)
			for j := range i + 1 {
				sum.matrix[i][j] += weight * columns[i].times(columns[j])
				sum.matrix[j][i] = sum.matrix[i][j]
			}
		}
	}
	return sum
}

func (s solver) weigh(off float64) (weight, loss float64) {
	if off <= s.knee {
		return 1, off * off
	}
	return s.knee / off, 2*s.knee*off - s.knee*s.knee
}

func scaled(v vector, by float64) vector { return vector{by * v[0], by * v[1], by * v[2]} }

// noKnee makes plain least squares.
var noKnee = math.Inf(1)

// pathModel is a model whose scale stands still: that of its path.
type pathModel struct{ *path }

func (m pathModel) at(volts float64, n numbers) (lab, byFilm, byScale vector) {
	lab, byFilm = m.path.at(n.film(volts))
	return lab, byFilm, vector{}
}
