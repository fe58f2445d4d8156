package profiles

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal/unit"
)

func TestASheetOfReadings(t *testing.T) {
	found, err := ReadReadings("d", good(t, "readings.csv"))
	require.NoError(t, err)
	require.Len(t, found, 2)
	assert.Equal(t, unit.Volts(10), found[0].Volts)
	assert.Equal(t, &[3]float64{70.1, 4.2, 30.5}, found[0].Lab)
	assert.Equal(t, unit.CurrentDensity(0.15), found[0].End)
	assert.Equal(t, "centre", found[0].Spot)
	assert.Equal(t, Place{"d", 3, 1}, found[1].At)

	found, err = ReadReadings("d", []byte("part,L,a,b,illuminant,observer,specular,date\nclamp,50,1,2,d65,2°,SCI,2026-11-30\n"))
	require.NoError(t, err)
	assert.True(t, math.IsNaN(float64(found[0].Volts)))
	assert.Equal(t, Conditions{Illuminant: "D65", Observer: "2", Specular: "included", Date: "2026-11-30"}, found[0].Conditions)
	assert.ErrorContains(t, WithVolts(found), "d:2:1: this reading does not say its volts")
}

func TestCGATSText(t *testing.T) {
	found, err := ReadReadings("c", good(t, "readings-cgats.txt"))
	require.NoError(t, err)
	require.Len(t, found, 3)
	assert.Equal(t, "spacer, outside", found[0].Part)
	assert.Equal(t, &[3]float64{82.4, -10.02, 11.9}, found[1].Lab)
	assert.Equal(t, unit.Volts(45.5), found[1].Volts)
	assert.Equal(t, Place{"c", 18, 1}, found[1].At)
	assert.Equal(t, unit.Volts(49), found[2].Volts, "the second table has the first one's format")
	assert.Equal(t, Conditions{Instrument: `a sphere, number "7"`, Geometry: "d/8 specular included", Specular: "included",
		Illuminant: "D65", Observer: "2", Date: "2026-11-30"}, found[2].Conditions)
}

// The three ways in which files write a spectrum come to the same.
func TestSpectraOfCGATSText(t *testing.T) {
	for name, content := range map[string]string{
		"pairs":        "SAMPLE_ID SPECTRAL_NM SPECTRAL_PCT SPECTRAL_NM SPECTRAL_PCT\nEND_DATA_FORMAT\nBEGIN_DATA\nx 410 50 400 25\n",
		"shares":       "SAMPLE_ID SPECTRAL_NM400 SPECTRAL_NM410\nEND_DATA_FORMAT\nBEGIN_DATA\nx 0.25 0.5\n",
		"per cent":     "SAMPLE_ID nm_400 nm_410\nEND_DATA_FORMAT\nBEGIN_DATA\nx 25 50\n",
		"said decimal": "SAMPLE_ID SPECTRAL_DEC400 SPECTRAL_DEC410\nEND_DATA_FORMAT\nBEGIN_DATA\nx 0.25 0.5\n",
	} {
		found, err := ReadCGATS("c", []byte("CGATS.17\nBEGIN_DATA_FORMAT\n"+content+"END_DATA\n"))
		require.NoError(t, err, name)
		assert.Equal(t, &Spectrum{[]float64{400, 410}, []float64{0.25, 0.5}}, found[0].Spectrum, name)
	}
}

func TestCxF(t *testing.T) {
	found, err := ReadReadings("x", good(t, "readings-cxf.xml"))
	require.NoError(t, err)
	require.Len(t, found, 1, "an object without a colour is no reading")
	r := found[0]
	assert.Equal(t, unit.Volts(49), r.Volts)
	assert.Equal(t, &[3]float64{83.15, -9.03, 23.72}, r.Lab, "D65 before D50, whatever stands first")
	require.Len(t, r.Spectrum.Nanometres, 31)
	assert.Equal(t, 700.0, r.Spectrum.Nanometres[30])
	assert.Equal(t, 0.5122, r.Spectrum.Reflectance[0])
	assert.Equal(t, Conditions{Instrument: "a maker a sphere 7", Geometry: "sphere", Specular: "included",
		Illuminant: "D65", Observer: "2", Date: "2026-11-30T08:09:58Z"}, r.Conditions)
	assert.Equal(t, 8, r.At.Line)
}

// Nothing can be told from a spectrum without its step: beside Lab it is left out.
func TestASpectrumWithoutItsStepIsNoReason(t *testing.T) {
	found, err := ReadCxF("x", []byte("<CxF><Resources><ObjectCollection><Object Name='a'><ColorValues>"+
		"<ReflectanceSpectrum StartWL='380'>0.1 0.2</ReflectanceSpectrum><ColorCIELab><L>50</L><A>1</A><B>2</B></ColorCIELab>"+
		"</ColorValues></Object></ObjectCollection></Resources></CxF>"))
	require.NoError(t, err)
	assert.Nil(t, found[0].Spectrum)
	assert.Equal(t, &[3]float64{50, 1, 2}, found[0].Lab)
}

func TestTheKindsOfReadings(t *testing.T) {
	for file, want := range map[string]string{"readings.csv": KindReadings, "readings-cgats.txt": KindCGATS, "readings-cxf.xml": KindCxF} {
		kind, err := Check(file, good(t, file))
		require.NoError(t, err)
		assert.Equal(t, want, kind)
	}
}

func TestMistakesOfReadingsHaveAPlace(t *testing.T) {
	head := "CGATS.17\nNUMBER_OF_FIELDS 3\nBEGIN_DATA_FORMAT\nLAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
	cxf := func(object string) string {
		return "<CxF><Resources><ObjectCollection>\n<Object Name='a'><ColorValues>" + object + "</ColorValues></Object></ObjectCollection></Resources></CxF>"
	}
	for content, want := range map[string]string{
		"L,a,b,specular\n1,2,3,perhaps\n": `f:2:1: column specular: "perhaps" is neither`,
		"CGATS.17\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nLAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n":      `f:2:18: NUMBER_OF_FIELDS says "4" and there are 3 fields`,
		head + "BEGIN_DATA\n50 0 0 1\nEND_DATA\n":                                                    `f:7:1: this set has 4 values; the data format has 3 fields`,
		head + "BEGIN_DATA\n50 0 0\n1\nEND_DATA\n":                                                   `f:8:1: this set has 1 values`,
		head + "BEGIN_DATA\n50 0 x\nEND_DATA\n":                                                      `f:7:6: LAB_B: "x" is not a plain number`,
		head + "BEGIN_DATA\n101 0 0\nEND_DATA\n":                                                     `f:7:1: Lab is 101, 0, 0; allowed is 0 to 100`,
		head + "NUMBER_OF_SETS 2\nBEGIN_DATA\n50 0 0\nEND_DATA\n":                                    `f:6:16: NUMBER_OF_SETS says "2" and there are 1 sets`,
		head + "BEGIN_DATA\n50 0 0\n":                                                                `END_DATA is missing`,
		"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L\nEND_DATA_FORMAT\nBEGIN_DATA\n1 2\nEND_DATA\n": `f:3:11: the data format has LAB_L without the other two`,
		"CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R\nEND_DATA_FORMAT\nBEGIN_DATA\n1\nEND_DATA\n":             `f:1:1: no table has colours`,
		"CGATS.17\nORIGINATOR \"ü\nx\n":                                                              `f:2:12: these quotes are not closed`,
		"CGATS.17\nBEGIN_DATA\n":                                                                     `f:2:1: data begin before a data format`,
		cxf("<ColorCIELab><L>1</L><A>0</A></ColorCIELab>"):                                           `f:2:31: ColorCIELab has no B`,
		cxf("<ColorCIELab><L>1</L><A>0</A><B>x</B></ColorCIELab>"):                                   `f:2:31: ColorCIELab, B: "x" is not a plain number`,
		cxf("<ReflectanceSpectrum StartWL='400'>1 1</ReflectanceSpectrum>"):                          `f:2:31: the spectrum starts at "400" nm and rises by "" nm`,
		cxf(""):                             `f:1:1: no Object has a ColorCIELab`,
		"<CxF><Resources></CxF>":            `f:1:23: not readable as XML: element <Resources> closed by </CxF>`,
		"<CxF>" + strings.Repeat("<a>", 60): `elements are nested more than 40 deep`,
		"<!DOCTYPE a [<!ENTITY b 'c'>]><CxF>&b;</CxF>": `not readable as XML: invalid character entity &b;`,
	} {
		_, err := ReadReadings("f", []byte(content))
		assert.ErrorContains(t, err, want, content)
	}
}

func TestReadingsSurviveJSON(t *testing.T) {
	for _, file := range []string{"readings.csv", "readings-cgats.txt", "readings-cxf.xml"} {
		found, err := ReadReadings("", good(t, file))
		require.NoError(t, err)
		for _, r := range found {
			r.At = Place{}
			content, err := json.Marshal(r)
			require.NoError(t, err)
			var again ColourReading
			require.NoError(t, json.Unmarshal(content, &again))
			second, err := json.Marshal(again)
			require.NoError(t, err)
			assert.JSONEq(t, string(content), string(second))
			assert.Equal(t, math.IsNaN(float64(r.End)), math.IsNaN(float64(again.End)))
			assert.Equal(t, r.Conditions, again.Conditions)
			assert.Equal(t, r.Volts, again.Volts)
		}
	}
}

func TestAMaster(t *testing.T) {
	m, err := ReadMaster("m", good(t, "master.yaml"))
	require.NoError(t, err)
	assert.Equal(t, Master{
		Name: "seat clamp, pale yellow", Metal: "titanium-grade-5", Finish: "polished", Lab: [3]float64{82.79, -9.26, 27.82},
		Light: &[3]float64{82.9, -9.4, 25.6}, Dark: &[3]float64{82.6, -9.1, 30}, Tolerance: 1, Volts: 50, Run: "12",
		Conditions: Conditions{Geometry: "d/8", Specular: "included", Date: "2026-11-30"},
	}, m)
}
