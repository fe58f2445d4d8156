package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What was mistyped is bad input, and is answered in words of the shop.
func TestMistypedCommands(t *testing.T) {
	for _, one := range []struct {
		args []string
		says string
	}{
		{[]string{"rnu"}, `anodized has no command "rnu"; did you mean "run"?`},
		{[]string{"journal", "verfy"}, `anodized journal has no command "verfy"; did you mean "verify"?`},
		{[]string{"journal", "frog"}, `anodized journal has no command "frog"; allowed: acknowledge, backup`},
		{[]string{"runs", "shwo"}, `anodized runs has no command "shwo"; did you mean "show"?`},
		{[]string{"runs", "show"}, "something is missing: anodized runs show RUN"},
		{[]string{"run", "--profile", "second-order", "purple"}, "a name of several words stands in quotes"},
		{[]string{"completion", "bsh"}, `did you mean "bash"?`},
		{[]string{"colour", "--volt", "70 V"}, `anodized colour has no flag --volt; did you mean "--volts"?`},
		{[]string{"colour", "--volts", "70"}, `--volts: "70" has no unit`},
		{[]string{"colour", "--angle", "x"}, `--angle "x": a number is needed: degrees from square`},
		{[]string{"run", "--seed", "-1"}, `--seed "-1": a whole number, 0 or more is needed`},
		{[]string{"run", "--from", ""}, "--from is empty: give it a value, or leave it out: repeat a recorded run"},
		{[]string{"run", "--bench="}, "--bench is empty: give it a value, or leave it out: bench file"},
		{[]string{"serve", "--listen", "127.0.0.1:99999"}, `"99999" is no port from 0 to 65535`},
		{[]string{"status", "--listen", "7070"}, `--listen "7070": `},
		{[]string{"stop", "--url", "ftp://bench.example"}, `--url "ftp://bench.example" is no address of a daemon`},
		{[]string{"acknowledge", "--who", "Ida", "--url", "bench.example:7070"}, "is no address of a daemon"},
		{[]string{"runs", "--outcome", ""}, "--outcome is empty"},
		{[]string{"plan", "--bath-temperature", "500 °C"}, "--bath-temperature is 500 °C, it is above 0 °C, to 60 °C"},
		{[]string{"plan", "--bath-temperature", "0 K"}, "--bath-temperature is -273.15 °C"},
		{[]string{"plan", "--rack", "-", "--bench", "-"}, "--rack and --bench are both -: standard input holds one file"},
		{[]string{"colour", "--chart", "0 V...10 V"}, `--chart is "0 V...10 V": write two voltages with .. between`},
		{[]string{"runs", "--limit", "1.5"}, `--limit "1.5": a whole number is needed`},
	} {
		got := say("", one.args...)
		assert.Equal(t, statusBadInput, got.status, "%v", one.args)
		assert.Contains(t, got.errors, one.says, "%v", one.args)
		assert.NotContains(t, got.errors, "strconv", "%v", one.args)
		assert.Empty(t, got.out, "%v", one.args)
	}
}

func TestGroupAloneShowsItsHelp(t *testing.T) {
	for _, args := range [][]string{{}, {"journal"}, {"journal", "--help"}} {
		got := say("", args...)
		assert.Equal(t, statusDone, got.status, "%v", args)
		assert.Contains(t, got.out, "Usage:", "%v", args)
	}
}

func TestTerminalThatCannotDrawGetsLines(t *testing.T) {
	assert.False(t, canDraw("dumb"))
	assert.False(t, canDraw(""))
	assert.True(t, canDraw("xterm-256color"))
}
