package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/pflag"

	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/controller/proof"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/profiles"
)

// planFlags are the flags that say what a load is made from. Commands that plan
// share them.
type planFlags struct {
	profile, rack, metal, bath, calibration, bench string
	ready                                          *profiles.Profile // instead of profile, where the command made one itself
	stage                                          int
	bathTemperature                                unit.Flag[unit.Celsius]
	shelf                                          shelf // calibrations of the shop
}

func (f *planFlags) register(flags *pflag.FlagSet) {
	flags.StringVar(&f.profile, "profile", profiles.DefaultProfile, "profile: an embedded one by its name, a file, or -")
	flags.StringVar(&f.rack, "rack", profiles.DefaultRack, "rack: an embedded one by its name, a file, or -")
	flags.StringVar(&f.metal, "metal", "", "metal, if not the profile's")
	flags.StringVar(&f.bath, "bath", "", "bath, if not the profile's")
	flags.StringVar(&f.calibration, "calibration", "", "calibration: one that the journal keeps or an embedded one by its id, or a file; without it the one of the journal that fits best, or the metal's book one")
	flags.IntVar(&f.stage, "stage", 0, "of a profile with stages: which run of the job; without it the first")
	flags.Var(&f.bathTemperature, "bath-temperature", "the bath as it was read today: the film is reckoned for it where the calibration says its own")
	flags.StringVar(&f.bench, "bench", "", "bench file: plan within the limits of its supply; without it the virtual bench")
}

// check looks at what the flags say together, and at what no file bounds.
func (f planFlags) check() error {
	var piped []string
	for _, one := range [][2]string{{"--profile", f.profile}, {"--rack", f.rack}, {"--metal", f.metal}, {"--bath", f.bath}, {"--calibration", f.calibration}, {"--bench", f.bench}} {
		if one[1] == "-" {
			piped = append(piped, one[0])
		}
	}
	if len(piped) > 1 {
		return fmt.Errorf("%s are both -: standard input holds one file", strings.Join(piped, " and "))
	}
	if t := f.bathTemperature; t.Given && !(t.Value > 0 && t.Value <= profiles.MostBathTemperature) {
		return fmt.Errorf("--bath-temperature is %s, it is above 0 °C, to %s", unit.Format(t.Value), unit.Format(profiles.MostBathTemperature))
	}
	return nil
}

// frozen are the copies that a run keeps of what it was made from.
type frozen struct {
	Profile     profiles.Profile
	Rack        profiles.Rack
	Metal       profiles.Metal
	Bath        profiles.Bath
	Calibration profiles.Calibration
	Choice      plan.Choice          // how the calibration was come by
	Today       string               // year-month-day
	Temperature unit.Celsius         // of the bath, as a person read it; 0: nobody said
	Bench       *profiles.Bench      // nil: the embedded virtual bench
	Stage       int                  // of a profile with stages, from 1; 0: the first
	StepUp      string               // the run whose parts are grown on; "" for none
	AfterStrip  string               // the run whose parts hang again, stripped since; "" for none
	Repeats     *record.Run          // the run that is repeated, nil for none
	Virtual     profiles.SupplyEntry // what the supply of the embedded bench gives; zero: the usual
	stdin       io.Reader            // what a file of - is read from; nil: there is none
}

// assemble opens everything that the flags name and makes the request of a plan of
// it. The supply's steps are known only once it answers: what run opens may narrow
// Request.Supply.
func assemble(f planFlags, stdin io.Reader) (plan.Request, frozen, error) {
	kept := frozen{Stage: f.stage, stdin: stdin}
	for _, open := range []func() error{
		func() (err error) { kept.Profile, err = f.openProfile(stdin); return },
		func() (err error) { kept.Rack, err = openRack(f.rack, stdin); return },
		func() (err error) { return kept.openBench(f.bench) },
		func() (err error) { return kept.openMetal(f) },
		func() (err error) { return kept.openBath(f) },
		func() (err error) { return kept.openCalibration(f) },
	} {
		if err := open(); err != nil {
			return plan.Request{}, kept, badInput(err)
		}
	}
	request, err := kept.request()
	return request, kept, err
}

func (f planFlags) openProfile(stdin io.Reader) (profiles.Profile, error) {
	if f.ready != nil {
		return *f.ready, nil
	}
	return profiles.OpenProfile(f.profile, stdin)
}

func (k *frozen) openBench(path string) error {
	if path == "" {
		return nil
	}
	bench, err := profiles.OpenBench(path, k.stdin)
	if err == nil && bench.Virtual() {
		k.Virtual = bench.Supply
		return nil
	}
	k.Bench = &bench
	return err
}

// openMetal opens the metal. A profile may name a file of the shop: once that is
// open it is known by its id.
func (k *frozen) openMetal(f planFlags) (err error) {
	own := f.metal == ""
	if k.Metal, err = profiles.OpenMetal(or(f.metal, k.Profile.Metal), k.stdin); err == nil && own {
		k.Profile.Metal = k.Metal.ID
	}
	return err
}

func (k *frozen) openBath(f planFlags) (err error) {
	own := f.bath == ""
	if k.Bath, err = profiles.OpenBath(or(f.bath, k.Profile.Bath), k.stdin); err == nil && own {
		k.Profile.Bath = k.Bath.ID
	}
	return err
}

func or(given, otherwise string) string {
	if given != "" {
		return given
	}
	return otherwise
}

func (k *frozen) request() (plan.Request, error) {
	surface, err := surfaceOf(k.Calibration)
	if err != nil {
		return plan.Request{}, badInput(err)
	}
	request := plan.Request{
		Profile: k.Profile, Rack: k.Rack, Metal: k.Metal, Bath: k.Bath, Calibration: k.Calibration,
		Choice: k.chosen(), Today: k.Today, Temperature: k.Temperature,
		Surface: surface, Simulated: k.Bench == nil,
	}
	if k.Bench == nil {
		if request.Supply, err = embeddedLimits(k.Virtual); err != nil {
			return request, err
		}
		return k.chooseStage(request)
	}
	request.Supply = supplyLimits(k.Bench.Supply)
	request.Because = proof.Permit(*k.Bench).Whys(proof.AttendedOnly)
	request.Attended = len(request.Because) > 0
	return k.chooseStage(request)
}

// embeddedLimits is what the supply of the embedded bench says that it can do: a plan
// for it is the one that a load on it is run by.
func embeddedLimits(s profiles.SupplyEntry) (plan.SupplyLimits, error) {
	v, err := virtual.New(virtual.Setup{Dummy: 1000, HighestVolts: s.HighestVoltage, HighestAmperes: s.HighestCurrent})
	if err != nil {
		return plan.SupplyLimits{}, fmt.Errorf("ask the embedded bench for its limits: %w", err)
	}
	return limitsOf(v.Supply()), nil
}

// limitsOf is what an open supply says that it can do.
func limitsOf(s hal.Supply) plan.SupplyLimits {
	can := s.Limits()
	return plan.SupplyLimits{HighestVolts: can.HighestVolts, HighestAmperes: can.HighestAmperes,
		LeastVolts: can.LeastVolts, LeastAmperes: can.LeastAmperes, VoltStep: can.VoltStep, AmpereStep: can.AmpereStep}
}

// supplyLimits is what a bench file tells of a supply. Its steps are at best those
// of the last digit that is sent.
func supplyLimits(s profiles.SupplyEntry) plan.SupplyLimits {
	limits := plan.SupplyLimits{HighestVolts: s.HighestVoltage, HighestAmperes: s.HighestCurrent}
	switch s.Driver {
	case "scpi":
		limits.VoltStep = unit.Volts(math.Pow10(-s.Dialect.DecimalsV))
		limits.AmpereStep = unit.Amperes(math.Pow10(-s.Dialect.DecimalsA))
	case "modbus":
		limits.LeastVolts, limits.LeastAmperes = s.Least()
		limits.VoltStep = unit.Volts(s.Modbus.Map.SetpointVoltage.Resolution())
		limits.AmpereStep = unit.Amperes(s.Modbus.Map.SetpointCurrent.Resolution())
	}
	return limits
}

// surfaceOf is the film on the metal as plans judge it: daylight D65, the 2 degree
// observer, square to the light. A calibration is true only for the optical tables
// that it was fitted with, and for its scale of the film's index, so those are taken.
func surfaceOf(c profiles.Calibration) (*colour.Surface, error) {
	oxide, err := profiles.OpticalConstants(c.Film)
	if err != nil {
		return nil, err
	}
	metal, err := profiles.OpticalConstants(c.Substrate)
	if err != nil {
		return nil, err
	}
	daylight, err := profiles.Illuminant("D65")
	if err != nil {
		return nil, err
	}
	return colour.NewSurface(oxide, metal, profiles.Observer(), daylight, colour.Options{IndexScale: c.Index()})
}
