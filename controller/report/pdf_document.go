package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
)

// pdfText is a text in the Windows encoding of the standard fonts, with its signs
// escaped. A letter that they do not have becomes a question mark; the Greek capital
// delta of differences becomes a d.
func pdfText(text string) string {
	var out strings.Builder
	for _, letter := range text {
		code, known := winAnsi[letter]
		switch {
		case letter == '(' || letter == ')' || letter == '\\':
			out.WriteByte('\\')
			out.WriteRune(letter)
		case letter >= ' ' && letter <= '~':
			out.WriteRune(letter)
		case letter >= 0xa0 && letter <= 0xff:
			fmt.Fprintf(&out, `\%03o`, letter)
		case known:
			fmt.Fprintf(&out, `\%03o`, code)
		default:
			out.WriteByte('?')
		}
	}
	return out.String()
}

// winAnsi are the letters of our sheets whose code is not their own.
var winAnsi = map[rune]int{'Δ': 'd', '…': 0o205, '–': 0o226, '—': 0o227, '’': 0o222, '‘': 0o221, '“': 0o223, '”': 0o224, '•': 0o225, '€': 0o200}

// write writes the document.
func (p *pdfPage) write(w io.Writer, title string) error {
	fontOf := func(name string) string {
		return "<< /Type /Font /Subtype /Type1 /BaseFont /" + name + " /Encoding /WinAnsiEncoding >>"
	}
	objects := []string{
		"<< /Type /Catalog /Pages 2 0 R >>",
		"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
		fmt.Sprintf("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %s %s] /Contents 4 0 R /Resources << /Font << /Regular 5 0 R /Bold 6 0 R >> >> >>",
			pdfNumber(p.width), pdfNumber(p.height)),
		fmt.Sprintf("<< /Length %d >>\nstream\n%sendstream", p.content.Len(), p.content.String()),
		fontOf("Helvetica"), fontOf("Helvetica-Bold"),
		"<< /Title (" + pdfText(title) + ") >>",
	}
	var out bytes.Buffer
	out.WriteString("%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
	table := fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for i, object := range objects {
		table += fmt.Sprintf("%010d 00000 n \n", out.Len())
		fmt.Fprintf(&out, "%d 0 obj\n%s\nendobj\n", i+1, object)
	}
	begins := out.Len()
	fmt.Fprintf(&out, "%strailer\n<< /Size %d /Root 1 0 R /Info %d 0 R >>\nstartxref\n%d\n%%%%EOF\n", table, len(objects)+1, len(objects), begins)
	if _, err := out.WriteTo(w); err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	return nil
}
