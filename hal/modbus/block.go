package modbus

import (
	"cmp"
	"context"
	"slices"
)

// block is a stretch of registers that are read in one request.
type block struct {
	table          string
	address, count int
}

func (b block) request() []byte {
	return reading(map[string]byte{"holding": readHolding, "input": readInput, "coil": readCoils}[b.table], b.address, b.count)
}

// blocks joins stretches that touch: what is read together belongs to one moment. A
// hole between two is never read, since a device may refuse it.
func blocks(spans ...span) []block {
	slices.SortFunc(spans, func(a, b span) int {
		return cmp.Or(cmp.Compare(a.table, b.table), cmp.Compare(a.address, b.address))
	})
	var all []block
	for _, s := range spans {
		if n := len(all) - 1; n >= 0 && all[n].table == s.table && all[n].address+all[n].count == s.address && all[n].count+s.count <= mostRegisters {
			all[n].count += s.count
			continue
		}
		all = append(all, block{s.table, s.address, s.count})
	}
	return all
}

// memory is what a few readings brought: by table, by address.
type memory map[string]map[int]uint16

// fetch reads blocks into a fresh memory.
func fetch(ctx context.Context, ask func(context.Context, []byte) ([]byte, error), all []block) (memory, error) {
	m := memory{"holding": {}, "input": {}, "coil": {}}
	for _, b := range all {
		answer, err := ask(ctx, b.request())
		if err != nil {
			return nil, err
		}
		if b.table == "coil" {
			for n := range b.count {
				m["coil"][b.address+n] = uint16(answer[2+n/8] >> (n % 8) & 1)
			}
			continue
		}
		for n, word := range registers(answer) {
			m[b.table][b.address+n] = word
		}
	}
	return m, nil
}

// at are the registers of a stretch.
func (m memory) at(table string, address, count int) []uint16 {
	raw := make([]uint16, count)
	for n := range raw {
		raw[n] = m[table][address+n]
	}
	return raw
}

func (m memory) quantity(q *Quantity) []uint16 { return m.at(q.Table, q.Address, words(q.Type)) }

// unusual finds a question within the map whose answer has a length that no other
// answer has, so that no late answer can be taken for it; nil where there is none.
func unusual(used ...[]block) []byte {
	taken := map[[2]int]bool{}
	for _, b := range slices.Concat(used...) {
		taken[[2]int{int(b.request()[0]), b.count}] = true
	}
	for _, b := range slices.Concat(used...) {
		for n := b.count - 1; n > 0 && b.table != "coil"; n-- {
			shorter := block{b.table, b.address, n}
			if !taken[[2]int{int(shorter.request()[0]), n}] {
				return shorter.request()
			}
		}
	}
	return nil
}
