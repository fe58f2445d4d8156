package journal

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

func TestStripsAreKept(t *testing.T) {
	j, path := openSample(t)
	run := finishedRun(t, j)
	require.ErrorIs(t, j.SaveStrip(record.Strip{Run: run}), ErrRefused, "on nobody's word")
	require.ErrorIs(t, j.SaveStrip(record.Strip{By: "Ida", Run: "7"}), ErrNoRun)
	require.NoError(t, j.SaveStrip(record.Strip{By: "Ida", Run: "last"}))
	require.NoError(t, j.SaveStrip(record.Strip{By: "Ida", Run: run, Part: "seat clamp"}))
	require.NoError(t, j.Close())
	r := readOnly(t, path)
	all, err := r.Strips(run)
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, record.Strip{By: "Ida", Run: run, Simulated: sampleIntent().Simulated}, all[0])
	assert.Equal(t, "seat clamp", all[1].Part)
	tamper(t, path, "DROP TRIGGER strip_changed", "UPDATE strip SET body = CAST(replace(CAST(body AS TEXT), 'Ida', 'Eva') AS BLOB)")
	_, err = readOnly(t, path).Strips("")
	require.ErrorIs(t, err, ErrDamaged)
}
