package profiles

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// located demands that what is refused is refused at a place, with words.
func located(t *testing.T, err error) {
	if err == nil {
		return
	}
	var mistakes Mistakes
	require.True(t, errors.As(err, &mistakes), "%v", err)
	for _, m := range mistakes {
		require.Positive(t, m.Line)
		require.Positive(t, m.Column)
		require.NotEmpty(t, m.Message)
	}
}

// seeds adds every good and bad file of the project.
func seeds(f *testing.F) {
	for _, folder := range []string{badFolder, goodFolder, "data/profiles", "data/racks", "data/calibrations"} {
		files, err := filepath.Glob(filepath.Join(folder, "*"))
		require.NoError(f, err)
		for _, file := range files {
			content, err := os.ReadFile(file)
			require.NoError(f, err)
			f.Add(content)
		}
	}
}

func fuzz[T any](f *testing.F, read func(string, []byte) (T, error)) {
	seeds(f)
	f.Fuzz(func(t *testing.T, content []byte) {
		_, err := read("fuzz", content)
		located(t, err)
	})
}

func FuzzReadProfile(f *testing.F)     { fuzz(f, ReadProfile) }
func FuzzReadRack(f *testing.F)        { fuzz(f, ReadRack) }
func FuzzReadMetal(f *testing.F)       { fuzz(f, ReadMetal) }
func FuzzReadBath(f *testing.F)        { fuzz(f, ReadBath) }
func FuzzReadCalibration(f *testing.F) { fuzz(f, ReadCalibration) }
func FuzzReadBench(f *testing.F)       { fuzz(f, ReadBench) }
func FuzzReadDaemon(f *testing.F)      { fuzz(f, ReadDaemon) }
func FuzzReadCurve(f *testing.F)       { fuzz(f, ReadCurve) }
func FuzzReadReadings(f *testing.F)    { fuzz(f, ReadReadings) }
func FuzzReadCGATS(f *testing.F)       { fuzz(f, ReadCGATS) }
func FuzzReadMaster(f *testing.F)      { fuzz(f, ReadMaster) }
func FuzzReadCxF(f *testing.F)         { fuzz(f, ReadCxF) }
func FuzzKind(f *testing.F)            { fuzz(f, Kind) }
