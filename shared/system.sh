#!/bin/sh
# Installs the synthesizer library and a soundfont where a known package manager is; says so where none is.
# Usage: system.sh [SUDO]
sudo=$1
have_library() { ${PYTHON:-python3} -c 'import ctypes.util,sys; sys.exit(not ctypes.util.find_library("fluidsynth"))' 2>/dev/null; }
have_library && exit 0
echo "Installing the synthesizer library (FluidSynth) and a soundfont ..."
if command -v apt-get >/dev/null 2>&1; then
    $sudo apt-get update -qq && $sudo apt-get install -y -qq libfluidsynth3 timgm6mb-soundfont >/dev/null
elif command -v dnf >/dev/null 2>&1; then
    $sudo dnf install -y -q fluidsynth-libs fluid-soundfont-gm
elif command -v pacman >/dev/null 2>&1; then
    $sudo pacman -S --noconfirm --needed fluidsynth soundfont-fluid
elif command -v zypper >/dev/null 2>&1; then
    $sudo zypper --non-interactive install libfluidsynth3 fluid-soundfont-gm
elif command -v brew >/dev/null 2>&1; then
    brew install fluid-synth
fi
have_library || echo "No synthesizer library could be installed: Alberti opens and works without sound; 'alberti doctor' says how to add it."
exit 0
