package metrics

import "github.com/prometheus/client_golang/prometheus"

// metric is one name with its help and labels.
type metric struct{ desc *prometheus.Desc }

// all are the metrics in the order in which they were named.
var all []*metric

func named(name, help string, labels ...string) *metric {
	m := &metric{prometheus.NewDesc("anodized_"+name, help, labels, nil)}
	all = append(all, m)
	return m
}

// The metrics. Outsiders rely on these names.
var (
	supplyVolts    = named("supply_volts", "Volts at the terminals of the supply, as last read.")
	supplyAmperes  = named("supply_amperes", "Amperes of the supply, as last read.")
	supplySetVolts = named("supply_set_volts", "Setpoint of the supply.")
	supplyOutput   = named("supply_output", "1 for what is known of the output: on, off or unknown.", "state")
	filmMetres     = named("film_metres", "Thickness of the film by the volts.")
	filmByCharge   = named("film_by_charge_metres", "Thickness of the film by the charge on the declared area.")
	liveArea       = named("live_area_square_metres", "Wetted area as the load behaves.")
	charge         = named("charge_coulombs", "Charge of the run so far.")
	density        = named("current_density_amperes_per_square_metre", "Current density on the declared area.")
	bathCelsius    = named("bath_celsius", "Temperature of the bath, as last read.")
	bathSeries     = named("bath_series_ohms", "Series resistance of leads and bath, as the run shows it.")
	interlock      = named("interlock_closed", "1 where a channel of the lid switch was last read closed.", "channel")
	state          = named("state", "1 for the state of the run.", "state")
	simulated      = named("simulated", "1 where the bench is simulated.")
	progress       = named("run_progress_ratio", "How far the run is, 0 to 1.")
	runs           = named("runs_total", "Loads that ended, by outcome.", "outcome")
	trips          = named("trips_total", "Loads that tripped, by the code of the first cause.", "code")
	findings       = named("findings_total", "Findings of loads that ended, by code.", "code")
	readingAge     = named("reading_age_seconds", "Age of the last reading of a device.", "device")
	deviceErrors   = named("device_errors_total", "Exchanges with a device that failed.", "device")
	ticks          = named("ticks_total", "Ticks of the loop that owns the bench. Where it does not rise the loop stands still.")
	tickDuration   = named("tick_duration_seconds", "How long the ticks took.")
	tickLateness   = named("tick_lateness_seconds", "How late the ticks were.")
	tickOverruns   = named("tick_overruns_total", "Ticks that came more than half a tick late.")
	rowsDropped    = named("rows_dropped_total", "Rows that did not reach the journal.")
	journalQueue   = named("journal_queue_rows", "Rows that wait for the disk.")
	journalRows    = named("journal_rows_total", "Rows written to the journal.")
	journalWrite   = named("journal_write_seconds", "How long the last write to the journal took.")
	lastRun        = named("last_run_timestamp_seconds", "When the last load ended, in seconds since 1970.")
	buildInfo      = named("build_info", "1, with the version of this program.", "version")
)
