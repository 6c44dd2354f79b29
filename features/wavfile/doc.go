// Package wavfile opens the WAV, AIFF, AIFF-C and FLAC files a studio exports and writes WAV stems and test tones.
//
// In goes a path, out come blocks of samples, one plane of float32 or float64 per channel, full scale = ±1.0; and the
// other way round. Files are streamed: memory does not grow with length, and reading and writing blocks allocates
// nothing.
//
// # The format
//
// A WAV file is a RIFF file of form WAVE. All numbers are little-endian.
//
//	"RIFF"  u32 size  "WAVE"         size = length of the file - 8
//	  id[4] u32 size  payload [pad]  any number of chunks; an odd payload is followed by one zero byte,
//	                                 which the chunk's own size does not count
//
// Three chunks matter here; all others (LIST, JUNK, cue, iXML ...) are stepped over, before or after the samples.
//
//	"fmt "  what a sample is, 16, 18 or 40 bytes:
//	          0 u16 tag            1 PCM, 3 IEEE float, 0xFFFE extensible; others are compressed
//	          2 u16 channels
//	          4 u32 sample rate
//	          8 u32 bytes a second = rate * block align
//	         12 u16 block align    bytes of one frame (one sample of every channel)
//	         14 u16 bits           of one sample
//	         16 u16 extra          22 when the rest is there
//	         18 u16 valid bits     bits in use of the container
//	         20 u32 channel mask   loudspeaker of each channel, 0 = none said
//	         24 GUID sub-format    its first two bytes are the plain tag (1 or 3),
//	                               the rest is 00 00 00 00 10 00 80 00 00 AA 00 38 9B 71
//	"data"  the frames, channels interleaved
//	"bext"  broadcast extension (EBU Tech 3285): description, originator, date, and the time reference,
//	        the first sample's place in samples since midnight
//
// PCM of 8 bits is unsigned with 128 as zero; 16, 24 and 32 bits are two's complement, full scale 2^(bits-1). Where a
// sample has fewer valid bits than its container (20 in 24, 24 in 32), it is left-justified: the value is the
// container's integer over the container's full scale. Float samples are nominally ±1.0 and may exceed it. In an
// extensible header the sub-format GUID decides; the outer tag says only "look there". Microsoft asks for an
// extensible header above 16 bits, above two channels, and wherever valid bits differ from the container; a "fact"
// chunk with the number of frames goes with every tag but PCM.
//
// # Beyond 4 GiB
//
// Sizes have 32 bits. RF64 (EBU Tech 3306) and BW64 (ITU-R BS.2088) change the first four bytes to "RF64" or "BW64",
// set the 32-bit sizes to 0xFFFFFFFF and put the true ones in the first chunk:
//
//	"ds64"  u64 RIFF size, u64 data size, u64 frames, u32 n, then n times (id[4], u64 size) for other long chunks
//
// Only a size of 0xFFFFFFFF is replaced; any other value in the chunk header stands. A writer that cannot know the
// final length reserves a JUNK chunk of the same size at the front and turns it into ds64 when needed; so does Writer.
//
// # What is tolerated
//
// Programs that write to a pipe cannot go back to fill in the sizes, and recorders crash. So a data size of 0,
// 0xFFFFFFFF, the largest multiple of the block align in 0x7FFFF000 (0x7FFFEFFF for 24-bit mono), or anything larger
// than what is left of the file means "to the end of the file"; a part of a frame at the end is dropped. Where whole
// chunks follow up to the end of the file, a size of 0 (or one of the others) is taken at its word. A missing pad
// byte, a chunk cut short, rubbish after the samples are stepped over. Each of these leaves a sentence in Info.Notes.
// NaN and infinite samples read as 0 and are counted by Reader.NonFinite; floats beyond 1e20 (400 dB above full scale) read
// as full scale and are counted by Reader.Wild.
//
// # AIFF and FLAC
//
// Open goes by a file's first bytes. AIFF and AIFF-C (PCM to 32 bits, float 32 and 64, either byte order; aiff.go) and FLAC
// (4 to 24 bits; flac.go) are read through the same Reader, as if they were WAV: only the place of the samples and the order
// of their bytes differ, and FLAC is decoded on the way. Files cut short are read as far as they go, with a note; a FLAC file
// that is damaged in the middle is an error where the damage is reached. To find the length of a FLAC file whose end is
// missing it is decoded twice. Going back in one starts from its beginning.
//
// What is not PCM or float is refused with a FormatError that names the file, what was found in it, and what to
// export instead.
//
// # Why not a library
//
// Chunk headers are read with github.com/go-audio/riff. Walking from one to the next is done here, because its walker
// accepts only "RIFF", rounds a size of 0xFFFFFFFF up to 0, takes every other size at its word, and reads through the
// samples to reach the chunks behind them. Samples are decoded here because the decoder of github.com/go-audio/wav
// works a sample at a time and takes no float.
package wavfile
