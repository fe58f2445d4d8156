package optics

// Table is a table of optical constants.
type Table struct {
	ID, Source       string
	Nanometres, N, K []float64
}
