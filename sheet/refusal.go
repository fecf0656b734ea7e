package sheet

import "gearleaf/sheet/diag"

// Refusal is a diagnostic returned as an error.
type Refusal struct{ Diagnostic *diag.Diagnostic }

// Refuse returns a refusal of a question, its message formatted.
func Refuse(format string, args ...any) *Refusal {
	return &Refusal{settingError(format, args...)}
}

// Error returns the message.
func (r *Refusal) Error() string { return r.Diagnostic.Message }
