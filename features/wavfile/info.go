package wavfile

// Info describes an open file.
type Info struct {
	Path          string
	Container     string // "RIFF", "RF64" or "BW64"; "AIFF" or "AIFC"; "FLAC"
	SampleRateHz  int    // 8000..384000
	Channels      int    // 1..64
	BitDepth      int    // valid bits of one sample
	ContainerBits int    // bits one sample takes in the file: 8, 16, 24, 32 or 64
	Float         bool   // IEEE float, else PCM
	ChannelMask   uint32 // loudspeakers of the channels, one bit each from the lowest up; 0 where none are said
	Frames        int64  // frames that can really be read, whatever the header says
	Bext          *Bext  // nil without a bext chunk
	Notes         []string
}

const (
	minRateHz   = 8000
	maxRateHz   = 384000
	maxChannels = 64
)

// advice ends every refusal.
const advice = "export it as WAV, PCM 24 bit or 32-bit float"

// FormatError says why a file is not one this package reads. Its text names the file, what was found and what to
// export instead.
type FormatError struct {
	Path  string
	Found string // for instance "FLAC", "A-law", "an empty file"
}

func (e *FormatError) Error() string {
	return e.Path + ": found " + e.Found + "; " + advice
}
