#!/bin/sh
# Install what make.py draws on (Debian 12 or a relative; needs root). Run it with the system's /usr/bin/python3.
set -e
apt-get update
apt-get install -y --no-install-recommends \
  python3-numpy python3-scipy python3-sklearn python3-soundfile python3-mido \
  fluidsynth fluid-soundfont-gm musescore-general-soundfont-lossless timgm6mb-soundfont opl3-soundfont csound-soundfont \
  timidity freepats hydrogen-drumkits mma espeak-ng
