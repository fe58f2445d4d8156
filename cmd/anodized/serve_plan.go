package main

import (
	"errors"
	"fmt"
	"reflect"
	"strings"

	"anodized/controller"
	"anodized/controller/web"
	"anodized/hal/unit"
	"anodized/profiles"
)

// plan makes a load ready from what came over the API. Nothing of this machine's disk
// is read for a stranger but what is embedded and what is on record.
func (d *daemon) plan(wanted web.PlanRequest) (controller.Request, error) {
	kept, err := d.gather(wanted)
	if err != nil {
		return controller.Request{}, err
	}
	request, err := kept.request()
	if err != nil {
		return controller.Request{}, err
	}
	d.bench.limit(&request)
	made, err := withHistory(d.job.path, request)
	if err != nil {
		return controller.Request{}, err
	}
	return controller.Request{Plan: made, Profile: kept.Profile, Rack: kept.Rack, Metal: kept.Metal, Bath: kept.Bath,
		Calibration: kept.Calibration, Seed: d.flags.seed}, nil
}

func (d *daemon) gather(wanted web.PlanRequest) (frozen, error) {
	kept := frozen{Bench: d.job.frozen.Bench, Virtual: d.job.frozen.Virtual, Stage: wanted.Stage}
	var err error
	if wanted.From != "" {
		err = d.repeat(&kept, wanted)
	} else {
		err = d.open(&kept, wanted)
	}
	if err == nil && kept.Bench == nil && !reflect.DeepEqual(kept.Rack, d.job.frozen.Rack) {
		err = fmt.Errorf("the embedded bench has the rack %q in its bath: plan for that one, or serve with --rack", d.job.frozen.Rack.Name)
	}
	return kept, err
}

// repeat takes everything from a recorded run.
func (d *daemon) repeat(kept *frozen, wanted web.PlanRequest) error {
	if wanted != (web.PlanRequest{From: wanted.From, NewParts: wanted.NewParts, BathCelsius: wanted.BathCelsius}) {
		return errors.New("from repeats a run as it was: leave out all else but new_parts and bath_celsius, or leave out from")
	}
	run, err := recordedRun(d.env, repeatFlags{run: wanted.From, journal: d.job.path})
	if err != nil {
		return err
	}
	in := run.Intent
	if in.Simulated && !d.bench.devices.Simulated {
		return fmt.Errorf("run %s is SIMULATED: nothing simulated feeds a plan for a real bench", run.ID)
	}
	kept.Profile, kept.Rack, kept.Metal, kept.Bath, kept.Calibration = in.Profile, in.Rack, in.Metal, in.Bath, in.Calibration
	kept.Choice, kept.Today = ofRun(run.ID), today()
	kept.Temperature, err = bathAsRead(wanted)
	if err != nil {
		return err
	}
	if kept.Bench != nil && !wanted.NewParts { // the person of the embedded bench hangs new ones each time
		kept.Rack.FormedTo = formedIn(kept.Rack, run)
	}
	return nil
}

// open takes what is embedded by its name, and files of the shop as text.
func (d *daemon) open(kept *frozen, wanted web.PlanRequest) error {
	for _, step := range []func() error{
		func() (err error) { kept.Profile, err = d.wantedProfile(wanted); return },
		func() (err error) { kept.Rack, err = d.wantedRack(wanted); return },
		func() error { return d.embeddedOnly(kept, wanted) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	celsius, err := bathAsRead(wanted)
	if err != nil {
		return err
	}
	names := planFlags{metal: wanted.Metal, bath: wanted.Bath, calibration: wanted.Calibration, shelf: shelf(d.job.path),
		bathTemperature: unit.Flag[unit.Celsius]{Value: celsius}}
	for _, step := range []func(planFlags) error{kept.openMetal, kept.openBath, kept.openCalibration} {
		if err := step(names); err != nil {
			return err
		}
	}
	return nil
}

// bathAsRead is the temperature that a person read; 0 where nobody said.
func bathAsRead(wanted web.PlanRequest) (unit.Celsius, error) {
	celsius := unit.Celsius(wanted.BathCelsius)
	if !(celsius >= 0 && celsius <= profiles.MostBathTemperature) {
		return 0, fmt.Errorf("bath_celsius is %s, it is above 0 °C, to %s", unit.Format(celsius), unit.Format(profiles.MostBathTemperature))
	}
	return celsius, nil
}

func (d *daemon) wantedProfile(wanted web.PlanRequest) (profiles.Profile, error) {
	switch {
	case wanted.Profile != "" && wanted.ProfileYAML != "":
		return profiles.Profile{}, errors.New("profile and profile_yaml: give one of the two")
	case wanted.ProfileYAML != "":
		return profiles.ReadProfile("profile_yaml", []byte(wanted.ProfileYAML))
	}
	if path, found := shopFile(d.flags.profiles, wanted.Profile); found {
		return profiles.OpenProfile(path, nil)
	}
	name := or(wanted.Profile, profiles.DefaultProfile)
	if err := embeddedName("profile", name, profiles.ProfileNames()); err != nil {
		return profiles.Profile{}, err
	}
	return profiles.OpenProfile(name, nil)
}

func (d *daemon) wantedRack(wanted web.PlanRequest) (profiles.Rack, error) {
	switch {
	case wanted.Rack != "" && wanted.RackYAML != "":
		return profiles.Rack{}, errors.New("rack and rack_yaml: give one of the two")
	case wanted.RackYAML != "":
		return profiles.ReadRack("rack_yaml", []byte(wanted.RackYAML))
	case wanted.Rack == "" && d.job.frozen.Bench == nil:
		return d.job.frozen.Rack, nil // what hangs in the embedded bench
	}
	if path, found := shopFile(d.flags.racks, wanted.Rack); found {
		return profiles.OpenRack(path, nil)
	}
	name := or(wanted.Rack, profiles.DefaultRack)
	if err := embeddedName("rack", name, profiles.RackNames()); err != nil {
		return profiles.Rack{}, err
	}
	return profiles.OpenRack(name, nil)
}

// embeddedOnly refuses every name that could be a path. A profile of the shop's folder
// may name its own files.
func (d *daemon) embeddedOnly(k *frozen, wanted web.PlanRequest) error {
	metal, bath := or(wanted.Metal, k.Profile.Metal), or(wanted.Bath, k.Profile.Bath)
	if _, own := shopFile(d.flags.profiles, wanted.Profile); own && wanted.ProfileYAML == "" {
		metal, bath = or(wanted.Metal, profiles.MetalIDs()[0]), or(wanted.Bath, profiles.BathIDs()[0])
	}
	return errors.Join(
		embeddedName("metal", metal, profiles.MetalIDs()),
		embeddedName("bath", bath, profiles.BathIDs()),
		d.calibrationName(wanted.Calibration),
	)
}

// calibrationName takes what is embedded and what the journal keeps, never a path.
func (d *daemon) calibrationName(name string) error {
	ids := profiles.CalibrationIDs()
	all, err := shelf(d.job.path).all()
	for _, one := range all {
		ids = append(ids, one.ID)
	}
	return errors.Join(err, embeddedName("calibration", or(name, ids[0]), ids))
}

func embeddedName(what, name string, names []string) error {
	for _, one := range names {
		if strings.EqualFold(spaced(one), spaced(name)) {
			return nil
		}
	}
	return fmt.Errorf("no embedded %s is called %q: known: %s; over the API only what is embedded, or in the folders of the daemon's file, goes by its name", what, name, strings.Join(names, ", "))
}

func spaced(name string) string { return strings.NewReplacer("-", " ", "_", " ").Replace(name) }
