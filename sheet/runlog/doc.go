// Package runlog reads the CSV files of data loggers, cleans what they hold,
// finds the pass in them and reads the pass: splits, shifts, lock-up, effective
// rollout, slip, fuel. The same reading is made of a logged pass and of a
// computed one, so that the two can be compared.
//
// It has numbers and names only; the meaning of the names in a worksheet is in
// package pass.
package runlog
