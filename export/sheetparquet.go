package export

import (
	"bufio"
	"io"
	"strings"

	"gearleaf/export/parquet"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// writeSheetParquet writes one table, or every value of the sheet, one per row.
func writeSheetParquet(w io.Writer, s *sheet.Sheet, r *sheet.Result, o Options) (Report, error) {
	out := bufio.NewWriterSize(w, 1<<16)
	var err error
	if o.Table == "" {
		err = parquetEverything(out, s, r, o.Origin)
	} else {
		err = parquetTable(out, s, r, o)
	}
	if err != nil {
		return Report{}, err
	}
	return Report{}, out.Flush()
}

// parquetTable writes the live rows of one table, and which values are at fault.
func parquetTable(w io.Writer, s *sheet.Sheet, r *sheet.Result, o Options) error {
	t, err := tableNamed(s, o.Table)
	if err != nil {
		return err
	}
	o.Origin.More = append(o.Origin.More, [2]string{"table", t.Name})
	var fields []Field
	var forms []parquet.Form
	for _, col := range t.Columns {
		fields, forms = append(fields, FieldOf(col.Name, &col.Quantity)), append(forms, columnForm(&col.Quantity))
	}
	out := newParquetRows(w, append(fields, Field{Name: "fault"}), append(forms, parquet.Text), o.Origin)
	rows, _ := r.Live(t)
	row := make([]any, len(t.Columns)+1)
	for i := range rows {
		var faults []string
		for k, col := range t.Columns {
			v := r.Entry(col, i)
			row[k] = exactValue(s, &col.Quantity, v)
			if v.IsFault() {
				faults = append(faults, col.Name+": "+causeOf(v))
			}
		}
		row[len(t.Columns)] = strings.Join(faults, "; ")
		if err := out.add(row); err != nil {
			return err
		}
	}
	return out.close()
}

// exactValue returns a value of q in its unit, with every digit; nil for a
// blank and a fault.
func exactValue(s *sheet.Sheet, q *check.Quantity, v sheet.Value) any {
	switch f := figureOf(s, q, v); {
	case f.fault != "" || f.blank:
		return nil
	case f.numeric:
		return f.number
	case q.Type.Form == check.Truth:
		return v.V != 0
	default:
		return f.text
	}
}

// parquetEverything writes the lines of the list of every value: a number under
// value, anything else under text.
func parquetEverything(w io.Writer, s *sheet.Sheet, r *sheet.Result, o Origin) error {
	var fields []Field
	for _, name := range []string{"kind", "section", "name", "row", "value", "text", "unit", "label", "fault"} {
		fields = append(fields, Field{Name: name})
	}
	forms := make([]parquet.Form, len(fields))
	for i, f := range fields {
		if f.Name != "row" && f.Name != "value" {
			forms[i] = parquet.Text
		}
	}
	out := newParquetRows(w, fields, forms, o)
	row := make([]any, len(fields))
	err := eachValue(s, r, func(v valueLine) error {
		row = append(row[:0], v.kind, v.section, v.name, nil, nil, nil, v.unit, v.label, v.value.fault)
		if v.row > 0 {
			row[3] = v.row
		}
		if v.value.numeric {
			row[4] = v.value.number
		} else {
			row[5] = v.value.text
		}
		return out.add(row)
	})
	if err != nil {
		return err
	}
	return out.close()
}
