// Package passbook keeps a book of passes: a CSV file to which lines are only
// ever added, one a pass, and columns. A crash loses nothing that was reported as
// written, two writers do not mix their lines, and a line that was cut off or
// changed afterwards is known by its check sum.
package passbook
