// Package film is the growth law of a compact anodic oxide, forward, backward and
// in closed form.
//
// The oxide between metal and bath carries nearly all of the volts. Its field E
// (V/cm) drives the current density j by the high-field law
//
//	j = i0 (exp(B E) - 1),     u = B E = ln(1 + j/i0)
//
// and the charge makes film, dX/dt = η k_F j. The softness u, a pure number near
// 24 on titanium, says nearly everything: a volt makes 1e7 B/u nanometres, and a
// decade less current makes ln(10)/u more film. So there is no final thickness,
// only an end criterion: a table of colours is valid for one end current density.
//
// Units at the boundary are those of hal/unit: volts, mA/cm², nm, s, C, cm².
// Constants and inner maths are in A/cm², cm/V and nm cm²/C, and say so.
//
// The law has no breakdown, leak, side current, dissolution or temperature.
//
// Sources: high-field growth of thin anodic oxides on Al, Hf, Nb, Ta, Ti and Zr,
// Lohrengel, Mater. Sci. Eng. R 11 (1993) 243 (reference from memory); the law is
// of Güntherschulze and Betz, 1934 (from memory); Faraday's law with the CODATA
// 2018 constants; exponential integrals, NIST DLMF chapter 8.19. The closed forms
// of the hold with series resistance are derived beside the code.
package film
