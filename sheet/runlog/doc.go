// Package runlog reads the CSV files of data loggers, cleans the channels,
// finds the pass and evaluates it: splits, shifts, lock-up, effective rollout,
// slip, fuel. Logged and computed passes are evaluated in the same way, so the
// two can be compared.
//
// It handles only numbers and names; package pass knows their meaning in a
// worksheet.
package runlog
