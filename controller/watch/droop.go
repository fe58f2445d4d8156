package watch

import "anodized/controller/fault"

// droops tells once of volts that are away. Whether they come back is not known yet: a
// supply that went off by itself looks the same.
func (w *Watch) droops(k Tick) {
	if s := &w.supply; !w.found.has(fault.SupplyDroop) {
		w.found.add(fault.SupplyDroop, s.lowSince, "certain", float64(k.Volts), s.highest)
		s.drooped, s.droopedAt = true, s.lowSince
	}
}

// comesBack: they have reached again what they had reached, and the film with them.
func (w *Watch) comesBack(k Tick) {
	w.supply.drooped = false
	w.found.reword(fault.SupplyDroop, cameBack, 2, float64(k.T)-w.supply.droopedAt)
}

const cameBack = "the supply gave %.2f V where %.2f V were set, below its current limit; the volts were back after %.1f s"
