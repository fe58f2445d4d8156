package main

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/unit"
	"anodized/hal/virtual/front"
)

// withTimer is a plant without a contactor, whose supply has a lost-host timer.
func withTimer(after unit.Seconds) func(*front.Options) {
	return func(o *front.Options) { o.Setup.Chain, o.Setup.LostHost = false, after }
}

// A controller that is killed or stands still beside a plant without a contactor: the supply
// ends it by its own lost-host timer, within its delay and half a second.
func TestProcessThatIsLostToASupplyWithATimer(t *testing.T) {
	t.Parallel()
	sum := newFigures("lost-host")
	sum.Plant = "SIMULATED, without contactor, with a lost-host timer"
	for _, signal := range []syscall.Signal{syscall.SIGKILL, syscall.SIGSTOP} {
		for _, after := range []unit.Seconds{1, 3} {
			t.Run(signal.String()+" "+after.String(), func(t *testing.T) {
				folder := t.TempDir()
				plant := stand(t, folder, withTimer(after))
				run := plant.loadOn(folder, filepath.Join(folder, "j.db"))
				ended := run.drained()
				if _, _, on := plant.until(60*time.Second, isLive); !on {
					t.Fatalf("it was never energised: %s", &run.errors)
				}
				require.True(t, plant.truth().LostHostArmed)
				<-time.After(500 * time.Millisecond) // a moment of the ramp
				require.NoError(t, run.command.Process.Signal(signal))
				require.True(t, plant.truth().Live, "it is the timer that ends it")
				// half a second, and what this machine may stand still beside other tests; the figures tell
				within := time.Duration(float64(after)*float64(time.Second)) + 1500*time.Millisecond
				truth, took, dead := plant.until(10*time.Second, isDead)
				require.True(t, dead)
				assert.LessOrEqual(t, took, within)
				assert.False(t, truth.Output)
				sum.value("seconds until dead, "+after.String()+", "+signal.String(), took.Seconds())
				<-time.After(time.Second)
				assert.False(t, plant.truth().Live, "it stays dead")
				if signal == syscall.SIGSTOP {
					require.NoError(t, run.command.Process.Signal(syscall.SIGCONT))
				}
				<-ended
				assert.False(t, plant.truth().Live)
				if signal == syscall.SIGSTOP && assert.NotNil(t, run.result.Trip) {
					assert.Equal(t, fault.ControlAbsent, run.result.Trip.Code, "%+v", run.result.Trip)
				}
			})
		}
	}
	sum.tell(t, 1)
}

// Without timer and contactor nothing ends it: what the test before shows is the timer.
func TestProcessThatIsLostWithoutATimer(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	plant := stand(t, folder, withTimer(0))
	run := plant.loadOn(folder, filepath.Join(folder, "j.db"))
	ended := run.drained()
	if _, _, on := plant.until(60*time.Second, isLive); !on {
		t.Fatalf("it was never energised: %s", &run.errors)
	}
	if err := run.command.Process.Kill(); !errors.Is(err, os.ErrProcessDone) {
		require.NoError(t, err)
	}
	<-ended
	_, took, dead := plant.until(5*time.Second, isDead)
	assert.False(t, dead, "dead after %v", took)
}

// A whole load leaves no timer armed, and the next one starts.
func TestProcessLeavesNoTimerArmed(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	plant := stand(t, folder, withTimer(1))
	run := plant.loadOn(folder, filepath.Join(folder, "j.db"))
	<-run.drained()
	require.True(t, plant.truth().Energised, "%s", &run.errors) // to its end, or to a trip where this machine stood still
	assert.False(t, plant.truth().LostHostArmed)
	<-time.After(2 * time.Second)
	assert.False(t, plant.truth().LostHostArmed)
}
