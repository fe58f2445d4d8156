package profiles

import "anodized/hal/unit"

// Metal is a metal, its oxide, and the growth constants to start from.
type Metal struct {
	ID         string          `json:"id"`
	Name       string          `json:"name"`
	Film       string          `json:"film"`      // id of the optical table of the oxide
	Substrate  string          `json:"substrate"` // id of the optical table of the metal
	Density    float64         `json:"density_g_cm3"`
	Growth     Growth          `json:"growth"`
	NativeFilm unit.Nanometres `json:"native_film_nm"`
	Indicative bool            `json:"indicative"` // colours are a hint only
	Book       string          `json:"book_calibration"`
	Note       string          `json:"note"`
}

// Growth are the constants of the high-field law of a metal's oxide.
type Growth struct {
	I0         float64 `json:"i0_a_cm2"`  // A/cm²
	B          float64 `json:"b_cm_v"`    // cm/V
	MolarMass  float64 `json:"molar_g"`   // g/mol of oxide
	Electrons  float64 `json:"electrons"` // per formula unit
	OxideGCM3  float64 `json:"oxide_g_cm3"`
	Efficiency float64 `json:"efficiency"` // share of the charge that stays as film, 0 to 1
}

// Bath is a bath and what to expect of it.
type Bath struct {
	ID           string            `json:"id"`
	Name         string            `json:"name"`
	Solute       string            `json:"solute"`
	MassPercent  float64           `json:"mass_percent"`
	Conductivity unit.Conductivity `json:"conductivity_ms_cm"` // at 20 °C
	Series       unit.Ohms         `json:"series_ohm"`         // expected of leads and bath for a rack of 200 cm²
	Litres       unit.Litres       `json:"litres"`
	Temperature  unit.Celsius      `json:"temperature_celsius"`
	LeastTemp    unit.Celsius      `json:"least_celsius"`
	MostTemp     unit.Celsius      `json:"most_celsius"`
	Renewed      string            `json:"renewed,omitempty"` // the day on which it was made up anew, year-month-day
	Cautions     []string          `json:"cautions"`
	Note         string            `json:"note"`
}
