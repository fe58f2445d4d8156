package faults

import (
	"sync"

	"anodized/controller/colour"
	"anodized/profiles"
)

// surface is the default film on the default metal, once for all plans.
var surface = sync.OnceValues(func() (*colour.Surface, error) {
	film, err := profiles.OpticalConstants("TiO2-Jolivet-amorphous")
	if err != nil {
		return nil, err
	}
	substrate, err := profiles.OpticalConstants("Ti-Johnson")
	if err != nil {
		return nil, err
	}
	light, err := profiles.Illuminant("D65")
	if err != nil {
		return nil, err
	}
	return colour.NewSurface(film, substrate, profiles.Observer(), light, colour.Options{})
})
