package scpiserver

// statusCommands are the status groups of SCPI-99 volume 2, 20.
func statusCommands() []command {
	questionable := func(i *Instrument) *register { return &i.status.questionable }
	operation := func(i *Instrument) *register { return &i.status.operation }
	preset := header("STATus:PRESet", without(func(i *Instrument) {
		i.status.questionable.enable, i.status.operation.enable = 0, 0
	}), nil)
	return append(append([]command{preset}, group("STATus:QUEStionable", questionable)...), group("STATus:OPERation", operation)...)
}

func group(name string, of func(*Instrument) *register) []command {
	return []command{
		header(name+":CONDition", nil, says(func(i *Instrument) string {
			i.observe()
			return nr1(int64(of(i).condition))
		})),
		header(name+"[:EVENt]", nil, says(func(i *Instrument) string {
			i.observe()
			event := of(i).event
			of(i).event = 0
			return nr1(int64(event))
		})),
		header(name+":ENABle", one(func(i *Instrument, text string) code {
			value, fault := integer(text, 65535)
			if fault == noError {
				of(i).enable = uint16(value) & 0x7fff
			}
			return fault
		}), says(func(i *Instrument) string { return nr1(int64(of(i).enable)) })),
	}
}

// commonCommands are those of IEEE 488.2.
func commonCommands() []command {
	return []command{
		header("*IDN", nil, says(func(i *Instrument) string { return i.source.Identity() })),
		header("*RST", without(func(i *Instrument) { i.source.Reset() }), nil),
		header("*CLS", without(func(i *Instrument) { i.status.clear() }), nil),
		header("*ESE", enable(func(i *Instrument) *byte { return &i.status.eventEnable }),
			says(func(i *Instrument) string { return nr1(int64(i.status.eventEnable)) })),
		header("*SRE", enable(func(i *Instrument) *byte { return &i.status.serviceEnable }),
			says(func(i *Instrument) string { return nr1(int64(i.status.serviceEnable &^ statusMaster)) })),
		header("*ESR", nil, says(func(i *Instrument) string {
			event := i.status.event
			i.status.event = 0
			return nr1(int64(event))
		})),
		header("*STB", nil, says(func(i *Instrument) string {
			i.observe()
			return nr1(int64(i.status.byte(len(i.reply) > 0)))
		})),
		header("*OPC", without(func(i *Instrument) { i.status.event |= operationComplete }),
			says(func(*Instrument) string { return "1" })),
		header("*TST", nil, says(func(*Instrument) string { return "0" })),
		header("*WAI", without(func(*Instrument) {}), nil),
	}
}

func enable(of func(*Instrument) *byte) func(*Instrument, []string) code {
	return one(func(i *Instrument, text string) code {
		value, fault := integer(text, 255)
		if fault == noError {
			*of(i) = byte(value)
		}
		return fault
	})
}
