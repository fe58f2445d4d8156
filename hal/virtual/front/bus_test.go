package front

import (
	"io"
	"log"
	"testing"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"anodized/hal/virtual"
)

// onBus is an independent client on a way to the bench's bus.
func (r *room) onBus(url string) *modbus.ModbusClient {
	c := r.onBusFor(url, patience)
	r.t.Cleanup(func() { _ = c.Close() })
	return c
}

// onBusFor is one that waits only so long for an answer.
func (r *room) onBusFor(url string, wait time.Duration) *modbus.ModbusClient {
	c, err := modbus.NewClient(&modbus.ClientConfiguration{URL: url, Speed: 115200, DataBits: 8, Parity: modbus.PARITY_NONE, StopBits: 2,
		Timeout: wait, Logger: log.New(io.Discard, "", 0)})
	require.NoError(r.t, err)
	require.NoError(r.t, c.Open(), url)
	require.NoError(r.t, c.SetUnitId(SupplyUnit))
	return c
}

func openBus(t *testing.T, faults ...string) *room {
	return openWith(t, func(o *Options) { o.ModbusListen, o.RTUTerminal, o.Baud = "127.0.0.1:0", true, 115200 }, faults...)
}

// TestALoadOverModbus drives the supply with an independent client over both framings:
// what one sets the other reads.
func TestALoadOverModbus(t *testing.T) {
	r := openBus(t)
	over := r.onBus(r.ModbusSupply())
	line := r.onBus("rtu://" + r.lines.rtu.Path())
	r.wait(4 * time.Second)
	require.NoError(t, over.WriteRegisters(volts10mV, []uint16{2000, 100}))
	require.NoError(t, line.WriteRegister(output, 1))
	r.wait(60 * time.Second)
	words, err := over.ReadRegisters(volts10mV, 3, modbus.HOLDING_REGISTER)
	require.NoError(t, err)
	require.Equal(t, []uint16{2000, 100, 1}, words)
	mV, err := line.ReadUint32s(firstReading, 2, modbus.INPUT_REGISTER)
	require.NoError(t, err)
	volts, amperes := float64(mV[0])/1000, float64(int32(mV[1]))/10000
	require.InDelta(t, 20, volts, 0.5)
	require.InDelta(t, 0.1, amperes, 0.2)
	status, err := over.ReadRegister(statusWord, modbus.INPUT_REGISTER)
	require.NoError(t, err)
	require.Equal(t, uint16(1<<bitVoltage|1<<bitOn), status)
	require.NoError(t, line.WriteRegister(output, 0))
	require.False(t, r.Bench().Truth().Output)
}

func TestTheLidsModuleOnTheBus(t *testing.T) {
	r := openBus(t, "thermometer-silent@start+20s", "interlock-gone@start+30s")
	for _, url := range []string{r.ModbusSupply(), "rtu://" + r.lines.rtu.Path()} {
		c := r.onBus(url)
		require.NoError(t, c.SetUnitId(LidUnit))
		r.wait(2 * time.Second)
		_, err := c.ReadDiscreteInputs(0, 2)
		require.NoError(t, err)
		warm, err := c.ReadRegister(warmth01C, modbus.INPUT_REGISTER)
		require.NoError(t, err)
		require.InDelta(t, 200, float64(warm), 15, "a bath at room temperature, in tenths")
		require.ErrorIs(t, c.WriteRegister(0, 1), modbus.ErrIllegalDataAddress)
		_, err = c.ReadRegister(1, modbus.INPUT_REGISTER)
		require.ErrorIs(t, err, modbus.ErrIllegalDataAddress)
		_, err = c.ReadRegister(0, modbus.HOLDING_REGISTER)
		require.ErrorIs(t, err, modbus.ErrIllegalDataAddress)
	}
	r.wait(22 * time.Second)
	c := r.onBus(r.ModbusSupply())
	require.NoError(t, c.SetUnitId(LidUnit))
	warm, err := c.ReadRegister(warmth01C, modbus.INPUT_REGISTER)
	require.NoError(t, err)
	require.Equal(t, uint16(0x7FFF), warm)
	r.wait(10 * time.Second)
	_, err = c.ReadDiscreteInputs(0, 2)
	require.ErrorIs(t, err, modbus.ErrServerDeviceFailure)
	require.NoError(t, c.SetUnitId(9))
	_, err = c.ReadDiscreteInputs(0, 2)
	require.ErrorIs(t, err, modbus.ErrGWTargetFailedToRespond)
}

func TestRegistersRefuse(t *testing.T) {
	r := openBus(t, "supply-tripped@start+10s", "no-reading@start+20s")
	c := r.onBus(r.ModbusSupply())
	require.ErrorIs(t, c.WriteRegisters(volts10mV, []uint16{2000, 501}), modbus.ErrIllegalDataValue, "above 5 A")
	require.ErrorIs(t, c.WriteRegister(volts10mV, 12001), modbus.ErrIllegalDataValue)
	require.ErrorIs(t, c.WriteRegister(output, 2), modbus.ErrIllegalDataValue)
	require.ErrorIs(t, c.WriteRegister(3, 0), modbus.ErrIllegalDataAddress)
	words, err := c.ReadRegisters(volts10mV, 2, modbus.HOLDING_REGISTER)
	require.NoError(t, err)
	require.Equal(t, []uint16{0, 0}, words, "all or none")
	r.wait(12 * time.Second)
	require.ErrorIs(t, c.WriteRegister(output, 1), modbus.ErrServerDeviceFailure, "a trip is latched")
	status, err := c.ReadRegister(statusWord, modbus.INPUT_REGISTER)
	require.NoError(t, err)
	require.Equal(t, uint16(1<<bitOvertemperature), status)
	r.wait(10 * time.Second)
	raw, err := c.ReadUint32s(firstReading, 2, modbus.INPUT_REGISTER)
	require.NoError(t, err)
	require.Equal(t, []uint32{noReading, noReading}, raw)
}

// TestFaultsOnTheBus: late, garbage and silent, on both framings, strike the supply and
// nobody else.
func TestFaultsOnTheBus(t *testing.T) {
	for name, rtu := range map[string]bool{"TCP": false, "RTU": true} {
		t.Run(name, func(t *testing.T) {
			r := openBus(t, "late-reply@start+2s,size=0.03,for=1s", "garbage@start+4s,for=1s", "supply-silent@start+6s,for=1s")
			url := r.ModbusSupply()
			if rtu {
				url = "rtu://" + r.lines.rtu.Path()
			}
			c := r.onBusFor(url, patience)
			read := func(unit uint8) error {
				require.NoError(t, c.SetUnitId(unit))
				_, err := c.ReadRegister(map[uint8]uint16{SupplyUnit: statusWord, LidUnit: warmth01C}[unit], modbus.INPUT_REGISTER)
				return err
			}
			r.wait(2500 * time.Millisecond)
			began := time.Now()
			require.NoError(t, read(SupplyUnit))
			require.GreaterOrEqual(t, time.Since(began), 30*time.Millisecond)
			r.wait(2 * time.Second)
			require.NoError(t, read(LidUnit))
			if rtu {
				require.Error(t, read(SupplyUnit), "the check sum is wrong")
			}
			r.wait(2 * time.Second)
			require.NoError(t, c.Close())
			c = r.onBusFor(url, 100*time.Millisecond) // no answer is on its way
			require.ErrorIs(t, read(SupplyUnit), modbus.ErrRequestTimedOut)
			require.NoError(t, c.Close())
		})
	}
}

func TestModbusBenchFiles(t *testing.T) {
	r := openBus(t)
	for _, want := range []string{"# SIMULATED", "driver: modbus", "address: " + r.RTU(), "unit: 2", "bath temperature:", "loopback: true"} {
		require.Contains(t, r.BenchFile(), want)
	}
	over := openWith(t, func(o *Options) { o.ModbusListen = "127.0.0.1:0" })
	require.Contains(t, over.BenchFile(), "address: "+over.ModbusSupply())
	require.Contains(t, over.BenchFile(), "address: "+over.Modbus())
	require.Empty(t, over.RTU()+over.SCPISerial())
	for name, o := range map[string]Options{
		"address": {ModbusListen: "127.0.0.1:notaport"},
		"volts":   {RTUTerminal: true, Setup: virtual.Setup{HighestVolts: 700}},
	} {
		_, err := Listen(o)
		require.Error(t, err, name)
	}
}
