package main

import (
	_ "embed"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

//go:embed c/reference.c
var referenceSource []byte

// reference builds the measuring program on libebur128 in a folder and returns its path; the reason where it cannot.
func reference(dir string) (string, error) {
	compiler, err := exec.LookPath("cc")
	if err != nil {
		return "", err
	}
	source, program := filepath.Join(dir, "reference.c"), filepath.Join(dir, "reference")
	if err := os.WriteFile(source, referenceSource, 0o644); err != nil {
		return "", err
	}
	if out, err := exec.Command(compiler, "-O2", source, "-o", program, "-lebur128", "-lsndfile").CombinedOutput(); err != nil {
		return "", fmt.Errorf("cc: %w\n%s", err, out)
	}
	return program, nil
}
