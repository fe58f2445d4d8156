package report

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"io"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"anodized/controller/record"
)

// Format is how a picture is written.
type Format string

// The formats.
const (
	SVG Format = "svg"
	PNG Format = "png"
	PDF Format = "pdf" // of a sheet for the printer
)

// ErrFormat is wrapped where a path does not end in .svg or .png.
var ErrFormat = errors.New("a picture is written as .svg or .png")

// FormatOf tells the format from the end of a path.
func FormatOf(path string) (Format, error) {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".svg":
		return SVG, nil
	case ".png":
		return PNG, nil
	}
	return "", fmt.Errorf("choose a format for %q: %w", path, ErrFormat)
}

// SheetFormatOf tells the format of a sheet for the printer, which may be PDF too.
func SheetFormatOf(path string) (Format, error) {
	if strings.EqualFold(filepath.Ext(path), ".pdf") {
		return PDF, nil
	}
	format, err := FormatOf(path)
	if err != nil {
		err = fmt.Errorf("%w, a sheet as .pdf too", err)
	}
	return format, err
}

// The sheet is A4 on its long side, in points of 1/72 inch.
const (
	sheetWidth  = 842
	sheetHeight = 595
	sheetDPI    = 144
)

// sheet is a drawing of a known size with a title for those who cannot see it.
type sheet struct {
	title         string
	width, height float64 // points
	draw          func(pen)
}

// write draws the sheet in one format.
func (s sheet) write(w io.Writer, format Format) error {
	switch format {
	case SVG:
		return s.writeSVG(w)
	case PNG:
		return s.writePNG(w)
	case PDF:
		page := newPDFPage(s.width, s.height)
		s.draw(newPen(page, s.width, s.height))
		return page.write(w, s.title)
	}
	return fmt.Errorf("write picture as %q: %w", format, ErrFormat)
}

func (s sheet) writePNG(w io.Writer) error {
	canvas := vgimg.NewWith(vgimg.UseWH(vg.Length(s.width), vg.Length(s.height)), vgimg.UseDPI(sheetDPI))
	s.draw(newPen(canvas, s.width, s.height))
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(w); err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	return nil
}

// The font is named with stand-ins of the same widths, since it is not embedded.
const (
	oneFont     = "font-family:Liberation Sans;"
	likeFonts   = "font-family:'Liberation Sans',Arimo,Arial,Helvetica,sans-serif;"
	svgOpenTail = `xmlns:xlink="http://www.w3.org/1999/xlink">`
)

func (s sheet) writeSVG(w io.Writer) error {
	canvas := vgsvg.New(vg.Length(s.width), vg.Length(s.height))
	s.draw(newPen(canvas, s.width, s.height))
	var buffer bytes.Buffer
	if _, err := canvas.WriteTo(&buffer); err != nil {
		return fmt.Errorf("draw picture: %w", err)
	}
	text := strings.ReplaceAll(buffer.String(), oneFont, likeFonts)
	title := svgOpenTail + "\n<title>" + html.EscapeString(record.Escaped(s.title)) + "</title>"
	text = strings.Replace(text, svgOpenTail, title, 1)
	if _, err := io.WriteString(w, text); err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	return nil
}
