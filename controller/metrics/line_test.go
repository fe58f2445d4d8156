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
	if h := m.Histogram; h != nil {
		return fmt.Sprintf("%s_count %v\n%s_sum %v\n", name, h.GetSampleCount(), name, h.GetSampleSum())
	}
	return fmt.Sprintf("%s %v\n", name, value)
}
