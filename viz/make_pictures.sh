#!/bin/sh
# Draws the pictures of the README from shipped runs: make_pictures.sh BUILD_FOLDER OUTPUT_FOLDER
set -eu
bin=$1/bin
out=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$out"
for run in blip blip_piston slow_sweep; do
  "$bin/glassbowl" run "$run" -o "$work/$run.h5" > /dev/null
done
"$bin/glassbowl-view" "$work/blip.h5" --at 0.245 --rate 0.01 --export "$out/cutaway_fixed_venturi.png"
"$bin/glassbowl-view" "$work/blip_piston.h5" --at 0.40 --rate 0.01 --light --export "$out/cutaway_vacuum_piston.png"
"$bin/glassbowl-view" "$work/slow_sweep.h5" --view overlap --export "$out/overlap.png"
echo "three pictures in $out"
