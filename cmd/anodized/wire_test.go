package main

import (
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/review"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// shortProfile is a film of a few volts, soon at its end.
const shortProfile = `name: a breath of straw
metal: titanium-grade-5
bath: bicarbonate
target: 4 V
ramp: 5 V/s
current density: 5 mA/cm2
end:
  current density: 1 mA/cm2
  sustained: 1 s
`

// shortestProfile has, of all that a load goes through, as little as there can be.
const shortestProfile = `name: a wisp of straw
metal: titanium-grade-5
bath: bicarbonate
target: 2 V
ramp: 5 V/s
current density: 5 mA/cm2
end:
  current density: 2.5 mA/cm2
  sustained: 1 s
`

// oneRing is the rack that hangs in the virtual bench of these tests.
const oneRing = `name: one ring
parts:
  - name: ring
    count: 2
    area: 100 cm2
`

// onSockets stands a virtual bench on sockets, in real time, and returns how to
// call run on it.
func onSockets(t *testing.T, way func(*front.Options), faults ...virtual.Fault) (args []string, journalPath string) {
	t.Helper()
	options := front.Options{Setup: virtual.Setup{Seed: 1, Parts: []virtual.Part{{Area: 100, Count: 2}}, Faults: faults}, Baud: 115200}
	way(&options)
	f, err := front.Listen(options)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- f.Serve(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-served)
		assert.False(t, f.Bench().Truth().Powered, "the bench is left off")
	})
	dir := t.TempDir()
	for name, text := range map[string]string{"bench.yaml": f.BenchFile(), "profile.yaml": shortProfile, "rack.yaml": oneRing} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	path := filepath.Join(dir, "j.db")
	return []string{"run", "--json", "--bench", filepath.Join(dir, "bench.yaml"), "--profile", filepath.Join(dir, "profile.yaml"),
		"--rack", filepath.Join(dir, "rack.yaml"), "--journal", path}, path
}

// A load over the wire in real time, bench and run each a process of its own, by each
// way to the supply; the record, reviewed, gives the numbers of the result line.
func TestLoadOverTheWire(t *testing.T) {
	t.Parallel()
	for name, way := range map[string][]string{
		"SCPI": nil, "SCPI on a serial line": {"--scpi-pty"}, "Modbus": {"--modbus-supply-listen", "127.0.0.1:0"},
		"Modbus on a serial line": {"--rtu-pty"}, "with chain and voltmeter": {"--chain", "--voltmeter"},
		"with chain and voltmeter on a serial line": {"--rtu-pty", "--chain", "--voltmeter"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			loadOverTheWire(t, way)
		})
	}
}

func loadOverTheWire(t *testing.T, way []string) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	for name, text := range map[string]string{"profile.yaml": shortestProfile, "rack.yaml": oneRing} {
		require.NoError(t, os.WriteFile(in(name), []byte(text), 0o600))
	}
	bench := start(t, append([]string{"virtual-bench", "--bench-file", in("bench.yaml"), "--rack", in("rack.yaml"), "--seed", "5"}, way...)...)
	bench.until(`"scpi"`, `"modbus"`)
	args := []string{"run", "--json", "--bench", in("bench.yaml"), "--profile", in("profile.yaml"), "--rack", in("rack.yaml"), "--journal", in("j.db")}
	run, status := inRealTime(t, args)
	require.Equal(t, statusDone, status, "%+v %s", run.result, &run.errors)
	assert.Equal(t, record.Complete, run.result.Outcome)
	assert.True(t, run.result.Simulated, "the instrument says so")
	assert.InDelta(t, 2, *run.result.EndVolts, 0.1)
	assert.Empty(t, review.OfRun(recorded(t, in("j.db"), "last")).Differs)
	require.NoError(t, bench.command.Process.Signal(syscall.SIGTERM))
	assert.Equal(t, statusDone, bench.end(), "%s", &bench.errors)
}

func TestFaultsOverTheWire(t *testing.T) {
	t.Parallel()
	tcp := func(*front.Options) {}
	serial := func(o *front.Options) { o.SCPITerminal = true }
	rtu := func(o *front.Options) { o.RTUTerminal = true }
	fanned := func(o *front.Options) { o.Setup.Ventilation = true }
	metered := func(o *front.Options) { o.Setup.Voltmeter, o.Setup.Chain = true, true }
	for name, c := range map[string]struct {
		way   func(*front.Options)
		fault string
		want  []fault.Code // the fault, or what looks like it
	}{
		"lid":                           {tcp, "interlock-open@2s", []fault.Code{fault.InterlockOpen}},
		"supply":                        {tcp, "supply-silent@2s,for=ever", []fault.Code{fault.SupplySilent}},
		"supply on a serial line":       {serial, "supply-silent@2s,for=ever", []fault.Code{fault.SupplySilent}},
		"lid on Modbus RTU, unreadable": {rtu, "interlock-gone@2s", []fault.Code{fault.InterlockOpen}},
		"supply on Modbus RTU":          {rtu, "supply-silent@2s,for=ever", []fault.Code{fault.SupplySilent}},
		"voltmeter that disagrees":      {metered, "meter-offset@1s,size=1.5", []fault.Code{fault.ReadbackDisagrees}},
		"airflow switch on an input":    {fanned, "ventilation-lost@0.5s", []fault.Code{fault.VentilationLost}},
		"stop on inputs of a module":    {metered, "emergency-stop@2s", []fault.Code{fault.EmergencyStop}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			injected, err := virtual.ParseFault(c.fault)
			require.NoError(t, err)
			args, path := onSockets(t, c.way, injected)
			run, status := inRealTime(t, args)
			require.Equal(t, statusNotRight, status, "%s", &run.errors)
			require.NotNil(t, run.result.Trip)
			assert.Contains(t, c.want, run.result.Trip.Code)
			assert.Equal(t, record.Tripped, recorded(t, path, "last").Result.Outcome)
		})
	}
}

// inRealTime runs a load to its end. A shared machine may stall for longer than the
// second that a run goes without control: that trip is right, and says nothing of
// the load, so the load is run again, three times in all.
func inRealTime(t *testing.T, args []string) (run *child, status int) {
	t.Helper()
	for range 3 {
		run = start(t, args...)
		status = run.end()
		if trip := run.result.Trip; trip == nil || trip.Code != fault.ControlAbsent && trip.Code != fault.ContactorStuck {
			break // a contactor lets go in such a stall, too
		}
		t.Log("this machine stood still for over a second: once more")
	}
	return run, status
}
