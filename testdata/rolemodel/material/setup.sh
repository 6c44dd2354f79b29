#!/bin/sh
# Install what make.py draws on (Debian 12 or a relative; needs root). Run it with the system's /usr/bin/python3.
set -e
apt-get update
apt-get install -y --no-install-recommends \
  python3-numpy python3-scipy python3-soundfile python3-numba python3-pil \
  fluidsynth fluid-soundfont-gm musescore-general-soundfont musescore-general-soundfont-lossless hydrogen-drumkits hydrogen-drumkits-effects sonic-pi-samples \
  ktuberling espeak-ng flite festival festvox-us-slt-hts festvox-kallpc16k festvox-kdlpc16k festvox-italp16k festvox-itapc16k \
  festvox-suopuhe-lj festvox-suopuhe-mv libstk-dev stk g++
