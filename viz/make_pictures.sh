#!/bin/sh
# Draws the pictures of the README anew from shipped runs: make_pictures.sh [BUILD_FOLDER [OUTPUT_FOLDER]]
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
bin=${1:-$root/build/release}/bin
out=${2:-$root/viz/pictures}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$out"
for run in blip blip_no_pump slow_sweep; do
  "$bin/glassbowl" run "$run" -o "$work/$run.h5" > /dev/null
done
view() {
  "$bin/glassbowl-view" "$@" --force
}
view "$work/blip.h5" --at 0.2525 --rate 0.01 --export "$out/cutaway.png"
view "$work/blip.h5" --beside "$work/blip_no_pump.h5" --at 0.4 --rate 0.01 --light --export "$out/side_by_side.png"
view "$work/slow_sweep.h5" --view overlap --at 8.2 --export "$out/overlap.png"
echo "three pictures in $out"
