package hwmon

import (
	"os"
	"path/filepath"
	"strings"
)

// Folder is where the kernel shows the monitors.
const Folder = "/sys/class/hwmon"

const (
	monitor = "rpi_volt"
	alarm   = "in0_lcrit_alarm"
)

// UnderVoltage tells whether a monitor in a folder reports that the board has too little
// voltage. A read may wait for the board's firmware.
func UnderVoltage(folder string) bool {
	found, err := os.ReadDir(folder)
	if err != nil {
		return false // no monitors: not judged
	}
	for _, one := range found {
		at := filepath.Join(folder, one.Name())
		if says(at, "name", monitor) && says(at, alarm, "1") {
			return true
		}
	}
	return false
}

// says tells whether a file of a monitor holds one word. What cannot be read holds none.
func says(monitor, file, word string) bool {
	text, err := os.ReadFile(filepath.Join(monitor, file))
	return err == nil && strings.TrimSpace(string(text)) == word
}
