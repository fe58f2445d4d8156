package hwmon

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestUnderVoltageOfTheBoard(t *testing.T) {
	for name, c := range map[string]struct {
		files map[string]string
		want  bool
	}{
		"no monitors":          {nil, false},
		"enough":               {map[string]string{"hwmon0/name": "rpi_volt\n", "hwmon0/in0_lcrit_alarm": "0\n"}, false},
		"too little":           {map[string]string{"hwmon0/name": "rpi_volt\n", "hwmon0/in0_lcrit_alarm": "1\n"}, true},
		"behind another":       {map[string]string{"hwmon0/name": "cpu_thermal\n", "hwmon0/temp1_input": "48312\n", "hwmon1/name": "rpi_volt\n", "hwmon1/in0_lcrit_alarm": "1\n"}, true},
		"of another monitor":   {map[string]string{"hwmon0/name": "nct6775\n", "hwmon0/in0_lcrit_alarm": "1\n"}, false},
		"without its alarm":    {map[string]string{"hwmon0/name": "rpi_volt\n"}, false},
		"garbage in the alarm": {map[string]string{"hwmon0/name": "rpi_volt\n", "hwmon0/in0_lcrit_alarm": "11\n"}, false},
		"no name":              {map[string]string{"hwmon0/in0_lcrit_alarm": "1\n"}, false},
		"a folder as alarm":    {map[string]string{"hwmon0/name": "rpi_volt\n", "hwmon0/in0_lcrit_alarm/x": "1\n"}, false},
	} {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			for path, text := range c.files {
				path = filepath.Join(folder, path)
				require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
				require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
			}
			assert.Equal(t, c.want, UnderVoltage(folder))
		})
	}
	assert.False(t, UnderVoltage(filepath.Join(t.TempDir(), "nowhere")))
}

// TestMonitorsAreLinksInTheKernelsFolder: each entry of the class is a link to a device.
func TestMonitorsAreLinksInTheKernelsFolder(t *testing.T) {
	device, class := t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(device, "name"), []byte("rpi_volt\n"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(device, "in0_lcrit_alarm"), []byte("1\n"), 0o600))
	require.NoError(t, os.Symlink(device, filepath.Join(class, "hwmon0")))
	assert.True(t, UnderVoltage(class))
}
