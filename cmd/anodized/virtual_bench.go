package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"anodized/hal/unit"
	"anodized/hal/virtual/front"
	"anodized/profiles"
)

func init() { commands = append(commands, newVirtualBenchCommand) }

// virtualBenchCommands are the constructors of the subcommands of virtual-bench.
var virtualBenchCommands = []func(env) *cobra.Command{}

type virtualBenchFlags struct {
	listen, interlock, benchFile string
	scpiTerminal, rtuTerminal    bool
	voltmeter, chain, beacon     bool
	ventilation                  bool
	modbusSupply                 string
	baud                         int
	rack, metal, bath            string
	seed                         uint64
	faults                       []string
	volts                        unit.Flag[unit.Volts]
	amperes                      unit.Flag[unit.Amperes]
	dummy                        unit.Flag[unit.Ohms]
	lostHost                     unit.Flag[unit.Seconds]
}

func newVirtualBenchCommand(e env) *cobra.Command {
	f := virtualBenchFlags{volts: unit.Flag[unit.Volts]{Value: 120}, amperes: unit.Flag[unit.Amperes]{Value: 5}}
	command := &cobra.Command{
		Use:   "virtual-bench",
		Short: "the virtual bench as a process of its own",
		Long: "A SIMULATED bench in real time: a supply that speaks SCPI on one TCP port and a lid switch\n" +
			"on another, as Modbus discrete inputs 0 and 1 of unit 1. It prints one JSON line with its\n" +
			"addresses and serves until it is stopped. When a client comes to the supply, its person\n" +
			"opens the lid after a second and closes it after three, once a rack.\n\n" +
			"The supply can be reached in one more way: by a serial line (a pseudo-terminal, on which each byte\n" +
			"takes its time), or as Modbus registers over TCP or a serial line. The bench file then names that\n" +
			"way; on the Modbus serial line hang the lid switch and a bath thermometer too.\n\n" +
			"With --voltmeter, --chain, --ventilation and --beacon the module of the lid switch has more on it: a voltmeter in input\n" +
			"registers 16 and 17, an emergency stop on inputs 2 and 3, a contactor on coils 0 and 1 with its\n" +
			"mirror contact on input 4, an airflow switch on input 5, a stack light on coils 2 to 8. The bench file then has entries for them.\n\n" + faultHelp(),
		Example: `  anodized virtual-bench --bench-file bench.yaml
  anodized run --bench bench.yaml
  anodized virtual-bench --rtu-pty --bench-file bench.yaml
  anodized virtual-bench --fault contact-lost@35V --fault late-reply@20s,size=0.5,for=2s`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error { return virtualBench(command.Context(), e, f) },
	}
	f.register(command)
	for _, construct := range virtualBenchCommands {
		command.AddCommand(construct(e))
	}
	return command
}

func (f *virtualBenchFlags) register(command *cobra.Command) {
	flags := command.Flags()
	flags.StringVar(&f.listen, "listen", "127.0.0.1:0", "address of the supply; port 0 is any free one")
	flags.StringVar(&f.interlock, "interlock-listen", "127.0.0.1:0", "address of the lid switch")
	flags.BoolVar(&f.scpiTerminal, "scpi-pty", false, "a serial line for SCPI to the supply as well")
	flags.BoolVar(&f.rtuTerminal, "rtu-pty", false, "a serial line for Modbus RTU to supply, lid and thermometer as well")
	flags.StringVar(&f.modbusSupply, "modbus-supply-listen", "", "an address for Modbus TCP to the supply as well, such as 127.0.0.1:0")
	flags.BoolVar(&f.voltmeter, "voltmeter", false, "an independent voltmeter across the cell, on the module of the lid switch")
	flags.BoolVar(&f.chain, "chain", false, "a contactor and an emergency stop on that module")
	flags.BoolVar(&f.ventilation, "ventilation", false, "an airflow switch on that module")
	flags.BoolVar(&f.beacon, "beacon", false, "a stack light on the coils of that module")
	command.MarkFlagsMutuallyExclusive("scpi-pty", "rtu-pty", "modbus-supply-listen")
	flags.IntVar(&f.baud, "baud", 115200, "bits a second on the serial line")
	flags.StringVar(&f.benchFile, "bench-file", "", "write the bench file for this bench there")
	flags.Var(&f.lostHost, "lost-host-timer", "the bench file arms the supply's lost-host timer with this delay, such as \"1 s\"; SCPI only")
	command.MarkFlagsMutuallyExclusive("lost-host-timer", "rtu-pty")
	command.MarkFlagsMutuallyExclusive("lost-host-timer", "modbus-supply-listen")
	flags.StringVar(&f.rack, "rack", profiles.DefaultRack, "what hangs in its bath: an embedded rack, a file, or -")
	flags.StringVar(&f.metal, "metal", profiles.DefaultMetal, "what the parts are made of")
	flags.StringVar(&f.bath, "bath", "bicarbonate", "what bath they hang in")
	flags.Uint64Var(&f.seed, "seed", 1, "the same seed gives the same noise")
	flags.StringArrayVar(&f.faults, "fault", nil, "a fault at a moment, such as contact-lost@35V; may be repeated")
	flags.Var(&f.volts, "highest-voltage", "what its supply can give")
	flags.Var(&f.amperes, "highest-current", "what its supply can give")
	flags.Var(&f.dummy, "dummy-load", "a resistor on its output in place of the bath, such as \"100 ohm\"")
}

// listening is the line that the process prints once it can be reached.
type listening struct {
	Simulated bool                   `json:"simulated"`
	SCPI      string                 `json:"scpi"`
	Modbus    string                 `json:"modbus"`
	Way       *string                `json:"supply_way"` // the one more, null where there is none
	Seed      uint64                 `json:"seed"`
	BenchFile *string                `json:"bench_file"`
	Rack      string                 `json:"rack"`
	Area      unit.SquareCentimetres `json:"area_cm2"`
	Faults    []string               `json:"faults"`
}

func virtualBench(ctx context.Context, e env, f virtualBenchFlags) error {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	setup, rackName, err := f.setup(e)
	if err != nil {
		return badInput(err)
	}
	if !slices.Contains(profiles.Bauds, f.baud) {
		return badInput(fmt.Errorf("--baud %d: allowed are %s", f.baud, strings.Trim(fmt.Sprint(profiles.Bauds), "[]")))
	}
	if err := replaceable(f.benchFile); err != nil {
		return badInput(err)
	}
	bench, err := front.Listen(front.Options{Setup: setup, Listen: f.listen, InterlockListen: f.interlock,
		SCPITerminal: f.scpiTerminal, RTUTerminal: f.rtuTerminal, ModbusListen: f.modbusSupply, Baud: f.baud})
	if none := noFault(err); none != nil {
		return badInput(none)
	}
	if err != nil {
		return cannot(fmt.Errorf("set up the virtual bench: %w", err))
	}
	if err := f.announce(e, bench, setup, rackName); err != nil {
		ended, end := context.WithCancel(ctx)
		end() // serving with an ended context closes the ports
		if closing := bench.Serve(ended); closing != nil {
			return cannot(closing)
		}
		return cannot(err)
	}
	if err := bench.Serve(ctx); err != nil {
		return cannot(err)
	}
	return nil
}
