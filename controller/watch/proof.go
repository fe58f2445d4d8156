package watch

import "anodized/controller/fault"

// unproven: a part that never had contact is a smaller area, and without the good
// loads of this rack nothing tells the two apart, nor where those scatter by as much as a
// part. It is kept on the record, so that a
// clean curve is not taken for a proof of each part.
func (w *Watch) unproven(reached bool) {
	if reached && w.plan.Parts > 1 && !w.proven() {
		w.found.add(fault.ContactNotProven, w.book.last, "certain", float64(w.plan.Parts), 100*float64(w.plan.SmallestPart)/w.decl)
	}
}
