package export

import (
	"encoding/xml"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// formatKind is the kind of a number format.
type formatKind uint8

const (
	plainFormat formatKind = iota
	percentNumber
	dateNumber
	timeNumber
)

// style reads the number formats of a workbook's cell styles.
func (r *bookReader) style(_ *xml.Decoder, at xml.StartElement) error {
	switch at.Name.Local {
	case "numFmt":
		if !r.inCells {
			r.known[attr(at, "", "numFmtId")] = kindOfFormat(attr(at, "", "formatCode"))
		}
	case "cellXfs":
		r.inCells = true
	case "cellStyles", "dxfs":
		r.inCells = false
	case "xf":
		if !r.inCells {
			return nil
		}
		if r.room--; r.room < 0 {
			return errPacked
		}
		id := attr(at, "", "numFmtId")
		kind, own := r.known[id]
		if !own {
			kind = builtInFormat(id)
		}
		r.formats = append(r.formats, kind)
	}
	return nil
}

// builtInFormat returns the kind of a number format that has a fixed number
// (ISO/IEC 29500-1, 18.8.30).
func builtInFormat(id string) formatKind {
	n, err := strconv.Atoi(id)
	switch {
	case err != nil:
		return plainFormat
	case n == 9 || n == 10:
		return percentNumber
	case n >= 14 && n <= 17, n == 22, n >= 27 && n <= 31, n == 36, n >= 50 && n <= 54, n == 57, n == 58:
		return dateNumber
	case n >= 18 && n <= 21, n >= 32 && n <= 35, n >= 45 && n <= 47, n == 55, n == 56:
		return timeNumber
	}
	return plainFormat
}

// unread matches the parts of a number format that do not determine its kind:
// quoted and escaped text, and brackets except those of hours, minutes and
// seconds.
var unread = regexp.MustCompile(`"[^"]*"|\\.|_.|\*.|\[[^\]]*[^\]hmsHMS][^\]]*\]`)

// kindOfFormat returns the kind of a number format's text.
func kindOfFormat(code string) formatKind {
	if strings.EqualFold(code, general) {
		return plainFormat
	}
	code = strings.ToLower(unread.ReplaceAllString(code, ""))
	switch {
	case strings.ContainsAny(code, "yd"):
		return dateNumber
	case strings.ContainsAny(code, "hs"):
		return timeNumber
	case strings.Contains(code, "m"):
		return dateNumber
	case strings.Contains(code, "%"):
		return percentNumber
	}
	return plainFormat
}

// dateText writes a spreadsheet's date or time: days since the end of 1899.
func dateText(days float64, kind formatKind) string {
	if !(days >= 0 && days < 3e6) {
		return "a date"
	}
	t := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Add(time.Duration(days * 24 * float64(time.Hour))).Round(time.Second)
	switch {
	case kind == timeNumber && days < 1:
		return "a time, " + t.Format("15:04:05")
	case kind == timeNumber:
		d := time.Duration(days * 24 * float64(time.Hour)).Round(time.Second)
		return fmt.Sprintf("a duration, %d:%02d:%02d", int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60)
	case days != float64(int(days)):
		return "a date and time, " + t.Format("2006-01-02 15:04")
	}
	return "a date, " + t.Format("2006-01-02")
}
