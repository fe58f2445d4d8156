package profiles

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
)

//go:embed data
var data embed.FS

// What a command takes where nothing else was asked for.
const (
	DefaultProfile = "second-order purple"
	DefaultRack    = "eight headset spacers"
	DefaultMetal   = "titanium-grade-5"
)

// ProfileNames lists the embedded profiles, as they are called.
func ProfileNames() []string { return namesOf("profiles") }

// RackNames lists the embedded racks, as they are called.
func RackNames() []string { return namesOf("racks") }

// MetalIDs lists the embedded metals.
func MetalIDs() []string { return idsOf("metals", ".yaml") }

// BathIDs lists the embedded baths.
func BathIDs() []string { return idsOf("baths", ".yaml") }

// CalibrationIDs lists the embedded calibrations.
func CalibrationIDs() []string { return idsOf("calibrations", ".yaml") }

// OpenProfile reads the profile that an argument names: an embedded one by its
// name, whatever the case; a path; or - for standard input. A file of the shop that
// the profile names as its metal or bath must be there and be right.
func OpenProfile(arg string, stdin io.Reader) (Profile, error) {
	p, err := open(arg, stdin, "profile", ProfileNames(), ReadProfile)
	if err == nil {
		err = p.linked(arg)
	}
	return p, err
}

// OpenRack is [OpenProfile] for a rack.
func OpenRack(arg string, stdin io.Reader) (Rack, error) {
	return open(arg, stdin, "rack", RackNames(), ReadRack)
}

// OpenMetal is [OpenProfile] for a metal.
func OpenMetal(arg string, stdin io.Reader) (Metal, error) {
	return open(arg, stdin, "metal", MetalIDs(), ReadMetal)
}

// OpenBath is [OpenProfile] for a bath.
func OpenBath(arg string, stdin io.Reader) (Bath, error) {
	return open(arg, stdin, "bath", BathIDs(), ReadBath)
}

// OpenCalibration is [OpenProfile] for a calibration.
func OpenCalibration(arg string, stdin io.Reader) (Calibration, error) {
	return open(arg, stdin, "calibration", CalibrationIDs(), ReadCalibration)
}

// OpenBench reads a bench file from a path, or from standard input where arg is -.
func OpenBench(arg string, stdin io.Reader) (Bench, error) {
	content, err := ReadFile(arg, stdin)
	if err != nil {
		return Bench{}, fmt.Errorf("bench file: %w", err)
	}
	return ReadBench(arg, content)
}

func open[T any](arg string, stdin io.Reader, what string, names []string, read func(string, []byte) (T, error)) (T, error) {
	if name := matching(arg, names); name != "" {
		file := path.Join("data", plural(what), strings.ReplaceAll(name, " ", "-")+".yaml")
		content, err := data.ReadFile(file)
		if err != nil {
			return *new(T), fmt.Errorf("embedded %s %q: %w", what, name, err)
		}
		return read("embedded:"+path.Base(file), content)
	}
	content, err := ReadFile(arg, stdin)
	if err != nil && !isPath(arg) && arg != "-" {
		return *new(T), unknown(arg, what, names)
	}
	if err != nil {
		return *new(T), fmt.Errorf("%s: %w", what, err)
	}
	return read(arg, content)
}

func unknown(arg, what string, names []string) error {
	return fmt.Errorf("no %s is called %q and there is no such file%s known: %s; or give the path of a file, or - for standard input",
		what, brief(arg), endSentence(didYouMean(arg, names)), quoted(names))
}

// linked opens the files of the shop that a profile names.
func (p Profile) linked(file string) error {
	if isPath(p.Metal) {
		if _, err := OpenMetal(p.Metal, nil); err != nil {
			return fmt.Errorf("%s names its metal: %w", file, err)
		}
	}
	if isPath(p.Bath) {
		if _, err := OpenBath(p.Bath, nil); err != nil {
			return fmt.Errorf("%s names its bath: %w", file, err)
		}
	}
	return nil
}

// cause leaves out the path that the message has already.
func cause(err error) error {
	var located *fs.PathError
	if errors.As(err, &located) {
		return located.Err
	}
	return err
}

func plural(what string) string { return what + "s" }

// idsOf lists the embedded files of a folder without their ending, in order.
func idsOf(folder, ending string) []string {
	entries, err := data.ReadDir(path.Join("data", folder))
	if err != nil {
		panic(fmt.Sprintf("profiles: embedded folder %s: %v", folder, err)) // a broken build, not an input
	}
	var ids []string
	for _, e := range entries {
		if id, ok := strings.CutSuffix(e.Name(), ending); ok && id != "index" {
			ids = append(ids, id)
		}
	}
	return ids
}

// namesOf finds what embedded files call themselves: their line "name: ...".
func namesOf(folder string) []string {
	var names []string
	for _, id := range idsOf(folder, ".yaml") {
		content, err := data.ReadFile(path.Join("data", folder, id+".yaml"))
		if err != nil {
			panic(fmt.Sprintf("profiles: embedded file %s: %v", id, err)) // a broken build, not an input
		}
		_, rest, _ := strings.Cut("\n"+string(content), "\nname: ")
		name, _, _ := strings.Cut(rest, "\n")
		names = append(names, strings.Trim(name, `"`))
	}
	return names
}
