package journal

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"anodized/controller/record"
)

// A batch of rows is coded as
//
//	version, 1 byte | count, uvarint | 6 columns of float64 | 3 columns of bytes | CRC-32C, 4 bytes
//
// and, where a row has a reading of the independent voltmeter, with version 2 and two
// columns of float64 more behind the six: its volts and their time, not a number where
// there is none. Rows without such readings are written as they were before there were
// any.
//
// column by column, each in the shortest of the codings of column.go. The CRC is
// little-endian and covers everything before it.
const (
	codecVersion  = 1
	codecMetered  = 2
	mostBatchRows = 1024 // a decoder never makes room for more
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

var errBatch = errors.New("damaged batch of samples")

// encodeBatch codes 1 to mostBatchRows rows without loss: every bit of every
// value comes back, of NaN too.
func encodeBatch(rows []record.Row) []byte {
	version := byte(codecVersion)
	if metered(rows) {
		version = codecMetered
	}
	out := binary.AppendUvarint([]byte{version}, uint64(len(rows)))
	values := make([]float64, len(rows))
	for _, column := range floatColumns {
		for i := range rows {
			values[i] = *column(&rows[i])
		}
		out = appendColumn(out, values)
	}
	if version == codecMetered {
		out = appendMeter(out, rows, values)
	}
	bytes := make([]byte, len(rows))
	for _, column := range byteColumns {
		for i := range rows {
			bytes[i] = *column(&rows[i])
		}
		out = appendBytes(out, bytes)
	}
	return binary.LittleEndian.AppendUint32(out, crc32.Checksum(out, castagnoli))
}

// decodeBatch reads what encodeBatch wrote. Anything else is an error.
func decodeBatch(blob []byte) ([]record.Row, error) {
	in, count, err := openBatch(blob)
	if err != nil {
		return nil, err
	}
	rows := make([]record.Row, count)
	for _, column := range floatColumns {
		values, rest, err := readColumn(in, count)
		if err != nil {
			return nil, err
		}
		for i, v := range values {
			*column(&rows[i]) = v
		}
		in = rest
	}
	if blob[0] == codecMetered {
		if in, err = readMeter(in, rows); err != nil {
			return nil, err
		}
	}
	return rows, decodeByteColumns(in, rows)
}

func openBatch(blob []byte) ([]byte, int, error) {
	if len(blob) < 6 {
		return nil, 0, fmt.Errorf("%w: %d bytes are too few", errBatch, len(blob))
	}
	body := blob[:len(blob)-4]
	if got, want := crc32.Checksum(body, castagnoli), binary.LittleEndian.Uint32(blob[len(body):]); got != want {
		return nil, 0, fmt.Errorf("%w: its check sum is %08x, not %08x", errBatch, got, want)
	}
	if body[0] != codecVersion && body[0] != codecMetered {
		return nil, 0, fmt.Errorf("%w: coding %d is not known here", errBatch, body[0])
	}
	count, n := binary.Uvarint(body[1:])
	if n <= 0 || count == 0 || count > mostBatchRows {
		return nil, 0, fmt.Errorf("%w: it says %d rows, 1 to %d are allowed", errBatch, count, mostBatchRows)
	}
	return body[1+n:], int(count), nil
}

func decodeByteColumns(in []byte, rows []record.Row) error {
	for _, column := range byteColumns {
		values, rest, err := readBytes(in, len(rows))
		if err != nil {
			return err
		}
		for i, v := range values {
			*column(&rows[i]) = v
		}
		in = rest
	}
	if len(in) != 0 {
		return fmt.Errorf("%w: %d bytes too many", errBatch, len(in))
	}
	return nil
}

var floatColumns = []func(*record.Row) *float64{
	func(r *record.Row) *float64 { return (*float64)(&r.T) },
	func(r *record.Row) *float64 { return (*float64)(&r.Volts) },
	func(r *record.Row) *float64 { return (*float64)(&r.Amperes) },
	func(r *record.Row) *float64 { return (*float64)(&r.Set) },
	func(r *record.Row) *float64 { return (*float64)(&r.Limit) },
	func(r *record.Row) *float64 { return (*float64)(&r.Bath) },
}

var byteColumns = []func(*record.Row) *uint8{
	func(r *record.Row) *uint8 { return &r.Mode },
	func(r *record.Row) *uint8 { return &r.State },
	func(r *record.Row) *uint8 { return &r.Output },
}
