package profiles

import "time"

// defaultDialect is what an instrument does that says nothing else.
func defaultDialect() Dialect {
	return Dialect{
		SendEnd: "lf", ReplyEnd: "any", Compound: true, OPC: true,
		Errors: "queue", Probe: "ese", OVP: "VOLT:PROT:LEV", Timeout: 300 * time.Millisecond,
	}
}

func (r *report) dialect(n *node, d *Dialect) {
	*d = defaultDialect()
	g := r.fields(n, "a dialect", []field{
		may("send_end", choice(&d.SendEnd, "lf", "crlf", "cr")),
		may("reply_end", choice(&d.ReplyEnd, "any", "lf", "crlf", "cr")),
		may("echo", truth(&d.Echo)),
		may("ack", noneOr(&d.Ack, 40)),
		may("enter", instructions(&d.Enter)),
		may("leave", instructions(&d.Leave)),
		may("compound", truth(&d.Compound)),
		may("opc", truth(&d.OPC)),
		may("errors", choice(&d.Errors, "queue", "esr", "none")),
		may("probe", choice(&d.Probe, "ese", "idn", "reopen")),
		may("ovp", header(&d.OVP, 80)),
		need("status", "questionable", choice(&d.Status, "questionable", "operation", "summary", "none")),
		may("timeout", duration(&d.Timeout, 0.01, 5)),
		may("gap", duration(&d.Gap, 0, 1)),
		need("settle", "150 ms", duration(&d.Settle, 0, 5)),
		need("decimals_v", "3", whole(&d.DecimalsV, 0, 6)),
		need("decimals_a", "4", whole(&d.DecimalsA, 0, 6)),
		need("mains_return", "halted", choice(&d.MainsReturn, "halted", "as_before", "energised", "unknown")),
		may("lost_host_switch", header(&d.LostHostSwitch, 80)),
		may("lost_host_delay", header(&d.LostHostDelay, 80)),
		may("lost_host_after", duration(&d.LostHostAfter, shortestLostHost, longestLostHost)),
	})
	r.lostHost(g, d)
}

// noneOr reads a text; the word none stands for no text at all.
func noneOr(to *string, most int) reader {
	read := oneLine(to, most, func(string) error { return nil })
	return func(r *report, n *node) {
		read(r, n)
		if *to == "none" {
			*to = ""
		}
	}
}

// instructions reads a list of commands, or the word none.
func instructions(to *[]string) reader {
	list := each(20, "a list of commands", add(to, func(r *report, n *node, s *string) { command(s, 200)(r, n) }))
	return func(r *report, n *node) {
		if n.kind == scalar && n.text == "none" {
			return
		}
		list(r, n)
	}
}
