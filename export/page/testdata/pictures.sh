#!/bin/sh
# Makes pictures of a page: at 360 and 1280 pixels, light and dark, after one
# change, in the folder named first; and page.png, which the README shows. It
# needs chromium, ImageMagick, and puppeteer-core from npm (NODE_PATH).
#
#     export/page/testdata/pictures.sh folder page.html name=quantity
set -eu
here=$(dirname "$0")
out=$1
mkdir -p "$out"
node "$here/picture.cjs" "$2" "$3" "$out"
convert "$out/360-light.png" "$out/360-dark.png" "$out/1280-light.png" -background none -gravity north +append -strip -colors 64 "$out/page.png"
