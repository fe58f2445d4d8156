package profiles

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestBenchOnGPIOLines(t *testing.T) {
	b, err := ReadBench("b", good(t, "bench-gpio.yaml"))
	require.NoError(t, err)
	assert.Equal(t, InterlockEntry{Driver: "gpio", Lines: [2]string{"LID-A", "LID-B"},
		Wiring: WiringEntry{Closed: "low", Bias: "pull-up"}}, b.Interlock, "the bias that fits is filled in")
	assert.Equal(t, &StopEntry{Driver: "gpio", Lines: []string{"STOP-A", "STOP-B"},
		Wiring: WiringEntry{Closed: "high", Bias: "none"}}, b.EmergencyStop)
	assert.Equal(t, &VentilationEntry{Driver: "gpio", Line: "AIRFLOW", Wiring: WiringEntry{Closed: "low", Bias: "pull-up"}}, b.Ventilation)
	assert.Equal(t, &ContactorEntry{Driver: "gpio", PulseLine: "CONTACTOR-PULSE", DropLine: "CONTACTOR-DROP",
		FeedbackLine: "CONTACTOR-MIRROR", OneShot: time.Second, DropLevel: "low", Wiring: WiringEntry{Closed: "low", Bias: "pull-up"}}, b.Contactor)
	assert.Equal(t, &BeaconEntry{Driver: "gpio", Chip: "/dev/gpiochip1", Lit: "high",
		Lamps: []LampEntry{{"red", "3", 0}, {"green", "4", 0}, {"white", "5", 0}, {"blue", "6", 0}, {"sounder", "7", 0}}}, b.Beacon)
}
