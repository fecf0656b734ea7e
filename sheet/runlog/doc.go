// Package runlog reads the CSV files of data loggers, cleans what they hold,
// finds the pass in them and reads the pass: splits, shifts, lock-up, effective
// rollout, slip, fuel. The same reading is made of a logged pass and of a
// computed one, so that the two can be compared.
//
// It knows numbers and names only; what the names mean in a worksheet is
// package sheet's.
package runlog
