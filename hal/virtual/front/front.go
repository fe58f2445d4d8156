package front

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"anodized/hal/virtual"
	"anodized/hal/virtual/modbusserver"
	"anodized/hal/virtual/scpiserver"
)

// InterlockUnit is the Modbus unit number of the lid switch. Its channels are the
// discrete inputs 0 and 1.
const InterlockUnit = 1

// Options are what a front needs. Zero values mean the defaults beside them.
type Options struct {
	Setup           virtual.Setup
	Listen          string               // 127.0.0.1:0, any free port
	InterlockListen string               // 127.0.0.1:0
	Speed           float64              // 1: real time
	Elapsed         func() time.Duration // since the start; the monotonic clock
	Layout          scpiserver.Layout    // questionable
	SCPITerminal    bool                 // a pseudo-terminal for the supply, besides its port
	RTUTerminal     bool                 // a pseudo-terminal that carries Modbus RTU, with supply and lid
	ModbusListen    string               // address of the same over Modbus TCP; "" for none
	Baud            int                  // of the pseudo-terminals; 9600
	LeastVolts      float64              // V, what the Modbus supply takes at least; 0
	LeastAmperes    float64              // A, likewise; 0
}

func (o Options) withDefaults() Options {
	if o.Listen == "" {
		o.Listen = "127.0.0.1:0"
	}
	if o.InterlockListen == "" {
		o.InterlockListen = "127.0.0.1:0"
	}
	if o.Speed == 0 {
		o.Speed = 1
	}
	if o.Elapsed == nil {
		began := time.Now()
		o.Elapsed = func() time.Duration { return time.Since(began) }
	}
	if o.Baud == 0 {
		o.Baud = defaultBaud
	}
	if o.Layout == "" {
		o.Layout = scpiserver.Questionable
	}
	return o
}

// Front is a bench that listens.
type Front struct {
	options Options
	bench   *virtual.Bench
	scpi    net.Listener
	modbus  net.Listener
	lines   lines
	counter counter
}

// Stand builds a bench that has no ports: [Front.SCPIOn] and [Front.RTUOn] put it at the
// end of lines that are there already.
func Stand(options Options) (*Front, error) {
	options = options.withDefaults()
	if !(options.Speed > 0 && options.Speed <= 1000) {
		return nil, fmt.Errorf("speed of %v: it must be above 0 and at most 1000 times real time", options.Speed)
	}
	options.Setup.PersonWaits, options.Setup.PersonStays, options.Setup.Speed = true, true, 0
	bench, err := virtual.New(options.Setup)
	if err != nil {
		return nil, err
	}
	return &Front{options: options, bench: bench, counter: newCounter(bench, options.Layout)}, nil
}

// Listen builds a bench and opens its ports and lines, but answers nobody yet.
func Listen(options Options) (*Front, error) {
	f, err := Stand(options)
	if err != nil {
		return nil, err
	}
	scpi, err := net.Listen("tcp", f.options.Listen)
	if err != nil {
		return nil, fmt.Errorf("listening for SCPI: %w", err)
	}
	inputs, err := net.Listen("tcp", f.options.InterlockListen)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("listening for Modbus: %w", err), scpi.Close())
	}
	f.scpi, f.modbus = scpi, inputs
	if err := f.openLines(); err != nil {
		return nil, errors.Join(err, scpi.Close(), inputs.Close())
	}
	return f, nil
}

// SCPI is the address of the supply.
func (f *Front) SCPI() string { return "tcp://" + reachable(f.scpi.Addr()) }

// Modbus is the address of the lid switch.
func (f *Front) Modbus() string { return "tcp://" + reachable(f.modbus.Addr()) }

// reachable is where a client on this computer finds a listener.
func reachable(address net.Addr) string {
	host, port, err := net.SplitHostPort(address.String())
	if ip := net.ParseIP(host); err == nil && ip.IsUnspecified() {
		return net.JoinHostPort("127.0.0.1", port)
	}
	return address.String()
}

// Bench is the bench behind the sockets, for tests that look at its truth.
func (f *Front) Bench() *virtual.Bench { return f.bench }

// Serve answers until the context ends, then closes every port and line.
func (f *Front) Serve(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	servers := append([]func(context.Context) error{
		func(ctx context.Context) error { return scpiserver.Serve(ctx, f.scpi, (*supplyWire)(f)) },
		func(ctx context.Context) error {
			return modbusserver.ServeTCP(ctx, f.modbus, module{f, InterlockUnit})
		},
	}, f.lineServers()...)
	var all sync.WaitGroup
	results := make([]error, len(servers))
	for i, serve := range servers {
		all.Go(func() {
			results[i] = serve(ctx)
			if results[i] != nil {
				cancel()
			}
		})
	}
	all.Wait()
	return errors.Join(results...)
}

// now is the time of the bench.
func (f *Front) now() time.Duration {
	return time.Duration(float64(f.options.Elapsed()) * f.options.Speed)
}
