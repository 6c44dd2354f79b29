package wavfile

import (
	"testing"

	"foldout/features/internal/generated"
)

func TestKernelsAreAsGenerated(t *testing.T) { generated.Kernels(t, "wavfile") }
