package sheet_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"gearleaf/sheet"
)

// disagreeing returns a result whose givens are not those that the second
// evaluator receives.
func disagreeing(t *testing.T) *sheet.Result {
	t.Helper()
	s := loaded(t, "a : 2\nb = a * 3\nlimit b < 9\n")
	set, d := s.ParseSetting("a=5")
	if d != nil {
		t.Fatal(d.Message)
	}
	s.Set(set)
	r := s.Evaluate()
	s.Settings[0].Value = 6
	return r
}

// TestDisagreementWithdrawsValues: after a disagreement no result has a
// number.
func TestDisagreementWithdrawsValues(t *testing.T) {
	r := disagreeing(t)
	b, _ := r.Sheet.Model.Resolve("b")
	if v := r.Cell(b); v.V != 15 || r.Checked.Tasks != 0 {
		t.Fatalf("b is %v, %v confirmed", v.V, r.Checked)
	}
	err := r.Confirm(t.Context())
	var differ *sheet.Disagreement
	if !errors.As(err, &differ) {
		t.Fatalf("confirmed: %v", err)
	}
	v := r.Cell(b)
	if f := v.Fault(); f == nil || !strings.Contains(f.Cause, "two evaluators differ") {
		t.Errorf("b is still %v, %v", v.V, f)
	}
	if state, _ := r.Limit(r.Sheet.Model.Limits[0]); state != sheet.Waiting {
		t.Errorf("the limit is %v", state)
	}
}

// TestConfirmationCanBeCancelled: a context that has ended stops it, and the
// values stay, unconfirmed.
func TestConfirmationCanBeCancelled(t *testing.T) {
	s := loaded(t, "a : 2\nb = a * 3\n")
	r := s.Evaluate()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if err := r.Confirm(ctx); !errors.Is(err, context.Canceled) {
		t.Fatalf("not cancelled: %v", err)
	}
	b, _ := s.Model.Resolve("b")
	if v := r.Cell(b); v.V != 6 || r.Checked.Tasks != 0 {
		t.Errorf("b is %v, %v confirmed", v.V, r.Checked)
	}
	if err := r.Confirm(t.Context()); err != nil || !r.Checked.Whole() {
		t.Errorf("%v, %v confirmed", err, r.Checked)
	}
}
