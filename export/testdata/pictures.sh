#!/bin/sh
# Shows what exported workbooks look like on paper: each workbook given becomes
# a PDF and a PNG a page, in the folder named first.
#
#     export/testdata/pictures.sh folder book.xlsx ...
set -eu
out=$1
shift
mkdir -p "$out"
profile=$(mktemp -d)
trap 'rm -rf "$profile"' EXIT
soffice --headless --norestore "-env:UserInstallation=file://$profile" --convert-to pdf --outdir "$out" "$@" >/dev/null
for book in "$@"; do
	name=$(basename "$book" .xlsx)
	pdftoppm -r 70 -png "$out/$name.pdf" "$out/$name"
done
