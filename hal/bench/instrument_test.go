package bench

import (
	"bufio"
	"fmt"
	"net"
	"strings"
	"sync"
	"testing"

	peer "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"
)

// instrument is a supply with the least that the standards ask for, on a real
// socket: no over-voltage header, no trips, no status registers. One client at a time.
type instrument struct {
	mu            sync.Mutex
	on            bool
	volts, amps   string
	ese, identity string
	errors        []string
	heard         []string
}

func startInstrument(t *testing.T) (*instrument, string) {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	i := &instrument{on: true, volts: "12.5", amps: "1", ese: "0", identity: "SMALL WORKS,SUPPLY SIMULATED,7,1.0"}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			i.serve(conn)
			_ = conn.Close() // the driver has hung up already
		}
	}()
	t.Cleanup(func() { require.NoError(t, listener.Close()); <-ended })
	return i, "tcp://" + listener.Addr().String()
}

func (i *instrument) serve(conn net.Conn) {
	scanner := bufio.NewScanner(conn)
	for scanner.Scan() {
		if answer := i.hear(scanner.Text()); answer != "" {
			_, _ = fmt.Fprintln(conn, answer) // the driver may hang up
		}
	}
}

// hear carries out one line and returns the line to answer, "" for none.
func (i *instrument) hear(line string) string {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.heard = append(i.heard, line)
	var answers []string
	for _, unit := range strings.Split(line, ";") {
		if answer := i.execute(strings.TrimPrefix(unit, ":")); answer != "" {
			answers = append(answers, answer)
		}
	}
	return strings.Join(answers, ";")
}

func (i *instrument) execute(unit string) string {
	header, argument, _ := strings.Cut(unit, " ")
	switch header {
	case "*IDN?":
		return i.identity
	case "*ESE":
		i.ese = argument
	case "*ESE?":
		return i.ese
	case "*ESR?":
		return "0"
	case "*OPC?":
		return "1"
	case "OUTP":
		i.on = argument == "ON"
	case "OUTP?":
		return map[bool]string{true: "1", false: "0"}[i.on]
	case "VOLT":
		i.volts = argument
	case "CURR":
		i.amps = argument
	case "VOLT?":
		return i.volts
	case "CURR?":
		return i.amps
	case "MEAS:VOLT?", "MEAS:CURR?":
		return "0.000"
	case "SYST:ERR?":
		return i.nextError()
	default:
		i.errors = append(i.errors, `-113,"Undefined header"`)
	}
	return ""
}

func (i *instrument) nextError() string {
	if len(i.errors) == 0 {
		return `0,"No error"`
	}
	first := i.errors[0]
	i.errors = i.errors[1:]
	return first
}

func (i *instrument) see(look func()) {
	i.mu.Lock()
	defer i.mu.Unlock()
	look()
}

// lidServer answers discrete inputs through a library that was not written here.
type lidServer struct{ closed bool }

func (l lidServer) HandleDiscreteInputs(r *peer.DiscreteInputsRequest) ([]bool, error) {
	answer := make([]bool, r.Quantity)
	for n := range answer {
		answer[n] = l.closed
	}
	return answer, nil
}

func (lidServer) HandleCoils(*peer.CoilsRequest) ([]bool, error) {
	return nil, peer.ErrIllegalFunction
}

func (lidServer) HandleHoldingRegisters(*peer.HoldingRegistersRequest) ([]uint16, error) {
	return nil, peer.ErrIllegalFunction
}

func (lidServer) HandleInputRegisters(*peer.InputRegistersRequest) ([]uint16, error) {
	return nil, peer.ErrIllegalFunction
}
