// Command release makes what is given to others: an archive of foldout for each system, with manual pages, completions,
// the licences of all that is in it and a list of its parts.
//
//	go run ./examples/release --version 1.0.0 --out dist
//
// Run it from the top of the project. Two runs of the same sources with the same Go give the same bytes: paths are trimmed,
// every file has the time of SOURCE_DATE_EPOCH (else of the last commit), and archives are sorted. SHA256SUMS lists them.
// The list of parts is SPDX 2.3, made from what the binary itself says (go version -m).
package main

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Targets are the systems that get an archive.
var targets = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64"}

func main() {
	version := flag.String("version", "0.1.0", "version of the release")
	out := flag.String("out", "dist", "folder for the archives, new or empty")
	flag.Parse()
	if err := release(*version, *out, targets); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// release makes an archive for each target and the list of their sums.
func release(version, out string, targets []string) error {
	if there, err := os.ReadDir(out); err == nil && len(there) > 0 {
		return fmt.Errorf("%s is not empty", out)
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "foldout-release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	when, err := moment()
	if err != nil {
		return err
	}
	shared, err := papers(work, version, when)
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, target := range targets {
		system, processor, _ := strings.Cut(target, "/")
		name := fmt.Sprintf("foldout-%s-%s-%s", version, system, processor)
		program := "foldout"
		if system == "windows" {
			program += ".exe"
		}
		binary := filepath.Join(work, name)
		if err := build(binary, version, system, processor); err != nil {
			return err
		}
		files := slices.Clone(shared)
		files = append(files, file{path: program, from: binary, mode: 0o755})
		parts, err := partsOf(binary, version, when)
		if err != nil {
			return err
		}
		files = append(files, parts...)
		slices.SortFunc(files, func(a, b file) int { return strings.Compare(a.path, b.path) })
		pack, end := packTar, ".tar.gz"
		if system == "windows" {
			pack, end = packZip, ".zip"
		}
		sum, err := written(filepath.Join(out, name+end), func(w io.Writer) error { return pack(w, name, files, when) })
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sum, name+end)
		fmt.Printf("%x  %s\n", sum, name+end)
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(sums.String()), 0o644)
}

// moment is the time that every file of the release bears.
func moment() (time.Time, error) {
	text := os.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		out, err := exec.Command("git", "log", "-1", "--format=%ct").Output()
		if err != nil {
			return time.Time{}, fmt.Errorf("no SOURCE_DATE_EPOCH and no commit to take the time from: %w", err)
		}
		text = strings.TrimSpace(string(out))
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH=%s: want seconds since 1970", text)
	}
	return time.Unix(seconds, 0).UTC(), nil
}

// build makes the program for a system.
func build(to, version, system, processor string) error {
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags", "-s -w -X main.version="+version, "-o", to, "foldout/cmd/foldout")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+processor, "GOAMD64=v1", "GOFLAGS=")
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s/%s: %w\n%s", system, processor, err, out)
	}
	return nil
}

// papers are the files that all archives share: read me, licence, manual pages, completions.
func papers(work, version string, when time.Time) ([]file, error) {
	here := filepath.Join(work, "here")
	if err := build(here, version, runtime.GOOS, runtime.GOARCH); err != nil {
		return nil, err
	}
	run := func(args ...string) ([]byte, error) {
		cmd := exec.Command(here, args...)
		cmd.Env = append(os.Environ(), "SOURCE_DATE_EPOCH="+strconv.FormatInt(when.Unix(), 10))
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("foldout %s: %w", strings.Join(args, " "), err)
		}
		return out, nil
	}
	files := []file{{path: "README.md", from: "README.md"}, {path: "LICENSE", from: "LICENSE"}}
	for shell, name := range map[string]string{"bash": "foldout.bash", "zsh": "_foldout", "fish": "foldout.fish", "powershell": "foldout.ps1"} {
		text, err := run("completion", shell)
		if err != nil {
			return nil, err
		}
		files = append(files, file{path: path.Join("completions", name), content: text})
	}
	manual := filepath.Join(work, "man")
	if _, err := run("man", "--out", manual); err != nil {
		return nil, err
	}
	pages, err := filepath.Glob(filepath.Join(manual, "*.1"))
	if err != nil || len(pages) == 0 {
		return nil, errors.Join(err, errors.New("no manual pages were made"))
	}
	for _, page := range pages {
		files = append(files, file{path: path.Join("man", "man1", filepath.Base(page)), from: page})
	}
	return files, nil
}

// file is one entry of an archive: its content, or the file it is read from.
type file struct {
	path, from string
	content    []byte
	mode       int64 // 0 for 0644
}

func (f *file) bytes() ([]byte, error) {
	if f.from == "" {
		return f.content, nil
	}
	return os.ReadFile(f.from)
}

// written writes a file and returns its SHA-256.
func written(name string, write func(io.Writer) error) ([]byte, error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, err
	}
	sum := sha256.New()
	err = errors.Join(write(io.MultiWriter(f, sum)), f.Close())
	return sum.Sum(nil), err
}

// packTar writes a tar archive, compressed, that says nothing of who made it when.
func packTar(w io.Writer, top string, files []file, when time.Time) error {
	z := gzip.NewWriter(w)
	t := tar.NewWriter(z)
	for _, f := range files {
		content, err := f.bytes()
		if err != nil {
			return err
		}
		head := &tar.Header{Name: path.Join(top, f.path), Mode: max(f.mode, 0o644), Size: int64(len(content)), ModTime: when, Format: tar.FormatPAX}
		if err := t.WriteHeader(head); err != nil {
			return err
		}
		if _, err := t.Write(content); err != nil {
			return err
		}
	}
	return errors.Join(t.Close(), z.Close())
}

// packZip is packTar for systems that know zip archives.
func packZip(w io.Writer, top string, files []file, when time.Time) error {
	z := zip.NewWriter(w)
	for _, f := range files {
		content, err := f.bytes()
		if err != nil {
			return err
		}
		entry, err := z.CreateHeader(&zip.FileHeader{Name: path.Join(top, f.path), Method: zip.Deflate, Modified: when})
		if err != nil {
			return err
		}
		if _, err := entry.Write(content); err != nil {
			return err
		}
	}
	return z.Close()
}
