package record

// The question after a stop, whether the colour that was wanted is there, and the answer
// that makes it a good end.
const (
	GoodByEye = "good-by-eye" // code of the question and of its answer
	SeenGood  = "good by eye" // text of a yes
)
