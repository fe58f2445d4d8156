package main

import (
	"fmt"
	"slices"
	"strings"

	"anodized/controller/choose"
	"anodized/controller/colour"
	"anodized/profiles"
)

// A wanted colour is looked at under these illuminants, and tilted by these angles.
var (
	wantedLamps = []string{"D65", "D50", "A"}
	wantedTilts = []float64{20, 45}
)

func (b *colourBasis) want(e env, f *colourFlags) error {
	eye, err := b.eye()
	if err != nil {
		return badInput(err)
	}
	w, err := b.chooseWanted(eye, strings.TrimSpace(f.wanted))
	if err != nil {
		return badInput(err)
	}
	if err := b.plot(f.plot, b.byVolts(w.choice.Candidates)); err != nil {
		return err
	}
	if f.json {
		err = printJSON(e.stdout, b.wantedAnswer(w))
	} else {
		err = b.printWanted(e, w)
	}
	if nearest := w.choice.Candidates[0]; err == nil && !w.choice.Reachable {
		err = notRight(fmt.Errorf("the wanted colour is not reachable: the nearest, at %.1f V, is CIEDE2000 %.1f away, and at most %g counts",
			float64(nearest.Volts), nearest.DE00, choose.Reachable))
	}
	return err
}

// wanted is a colour as it was asked for, and the answer.
type wanted struct {
	choice choose.Choice
	hex    string      // of a screen, "" where it was given otherwise
	word   choose.Word // its Name is "" where it was given otherwise
}

// chooseWanted reads CIELAB, a screen's colour or a name.
func (b *colourBasis) chooseWanted(eye *choose.Eye, text string) (w wanted, err error) {
	if text != "" && !strings.HasPrefix(text, "#") && !strings.Contains(text, ",") {
		if w.choice, w.word, err = eye.ChooseWord(text); err != nil {
			return w, fmt.Errorf("--wanted: %w", err)
		}
		w.hex = w.word.Hex
		return w, nil
	}
	want, hex, err := b.parseWanted(text)
	if err != nil {
		return w, err
	}
	return wanted{choice: eye.Choose(want), hex: hex}, nil
}

func (b *colourBasis) eye() (*choose.Eye, error) {
	lamps := make([]profiles.Light, len(wantedLamps))
	for i, id := range wantedLamps {
		lamp, err := profiles.Illuminant(id)
		if err != nil {
			return nil, err
		}
		lamps[i] = lamp
	}
	return choose.New(choose.Request{
		Film: b.film, Substrate: b.substrate, Observer: profiles.Observer(), Light: b.light, Options: b.looked,
		Scale: b.scale, Lamps: lamps, Tilts: wantedTilts, Highest: lastWantedVolts,
	})
}

// byVolts are the views of candidates, by rising volts.
func (b *colourBasis) byVolts(found []choose.Candidate) []colour.View {
	views := make([]colour.View, len(found))
	for i, c := range found {
		views[i] = b.surface.At(b.scale, c.Volts)
	}
	slices.SortFunc(views, func(one, two colour.View) int {
		if one.Volts < two.Volts {
			return -1
		}
		return 1
	})
	return views
}
