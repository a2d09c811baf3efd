#!/bin/sh
# Makes the recordings of this folder with sox 14.4.2 (apt-get install sox).
# -R makes the dither the same each time.
set -e
cd "$(dirname "$0")"
sine="synth 0.1 sine 1000 vol 0.5"
sox -R -n -r 48000 -b 8 -e unsigned-integer sine8.wav $sine
sox -R -n -r 48000 -b 16 sine16.wav $sine
sox -R -n -r 48000 -b 24 sine24.wav $sine
sox -R -n -r 48000 -b 32 -e signed-integer sine32.wav $sine
sox -R -n -r 48000 -b 32 -e floating-point sinefloat32.wav $sine
sox -R -n -r 48000 -b 64 -e floating-point sinefloat64.wav $sine
sox -R -n -r 48000 -b 16 square16.wav synth 0.1 square 1000 vol 0.5
sox -R -D -n -r 48000 -b 16 clipped16.wav synth 0.1 sine 1000 gain 6
sox -R -n -r 44100 -c 2 -b 16 --comment "left 100 Hz, right 300 Hz" stereo16.wav synth 0.05 sine 100 sine 300 vol 0.25
sox -R -n -r 48000 -b 16 -t wav - $sine | cat > piped16.wav
for file in *.wav; do echo "$file"; sox "$file" -n stat 2>&1 | grep -E 'Samples read|Maximum|Minimum|RMS *amp'; done
