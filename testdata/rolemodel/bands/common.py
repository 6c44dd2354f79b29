"""Ten sessions, a file each; this is what they share."""
from dsp import *
from extra import *
from sound import Note, synth
from tune import Song, human, clip
from session import Session
