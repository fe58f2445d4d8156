package campaign

import (
	"sync"

	"anodized/controller/colour"
	"anodized/profiles"
)

// Surface is the default film on the default metal, once for all cases.
var Surface = sync.OnceValue(func() *colour.Surface {
	film, err := profiles.OpticalConstants("TiO2-Jolivet-amorphous")
	substrate, err2 := profiles.OpticalConstants("Ti-Johnson")
	light, err3 := profiles.Illuminant("D65")
	s, err4 := colour.NewSurface(film, substrate, profiles.Observer(), light, colour.Options{})
	for _, e := range []error{err, err2, err3, err4} {
		if e != nil {
			panic(e)
		}
	}
	return s
})
