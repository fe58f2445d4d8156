package metrics

import (
	"fmt"
	"strings"

	dto "github.com/prometheus/client_model/go"
)

// line is one metric as the text format writes it.
func line(family *dto.MetricFamily, m *dto.Metric) string {
	labels := make([]string, len(m.GetLabel()))
	for i, label := range m.GetLabel() {
		labels[i] = fmt.Sprintf("%s=%q", label.GetName(), label.GetValue())
	}
	name := family.GetName()
	if len(labels) > 0 {
		name += "{" + strings.Join(labels, ",") + "}"
	}
	value := m.GetGauge().GetValue()
	if m.Counter != nil {
		value = m.GetCounter().GetValue()
	}
	return fmt.Sprintf("%s %v\n", name, value)
}
