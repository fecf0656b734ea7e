// Package passbook keeps a book of passes: a CSV file to which only lines, one
// per pass, and columns are added. A crash loses nothing that was reported as
// written, two writers do not mix their lines, and the check sum reveals a line
// that was truncated or changed.
package passbook
