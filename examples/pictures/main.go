// Command pictures makes the pictures of the README from the demo song: it performs the song, folds it, and photographs
// what comes out. It needs Go and Chromium.
//
//	go run ./examples/pictures
//
// Run it from the top of the project; the pictures go to examples/pictures, where older ones are replaced.
package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"github.com/chromedp/chromedp"

	"foldout/examples/demo"
)

func main() {
	out := flag.String("out", filepath.Join("examples", "pictures"), "folder for the pictures")
	flag.Parse()
	if err := run(*out); err != nil {
		fmt.Fprintln(os.Stderr, "pictures:", err)
		os.Exit(1)
	}
}

const rigFile = "examples/rigs/16-outputs.toml"

// shots are the parts of the page that are photographed: file, element, and the greatest height in pixels.
var shots = []struct {
	file, element string
	high          int
}{
	{"report.png", "body", 1250},
	{"map.png", "#map .sheet", 700},
	{"levels.png", "#levels .sheet", 500},
}

func run(out string) (err error) {
	work, err := os.MkdirTemp("", "pictures")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	program, song := filepath.Join(work, "foldout"), filepath.Join(work, demo.Song.Title)
	sheet, page := filepath.Join(work, "song.json"), filepath.Join(work, "song.html")
	text := &bytes.Buffer{}
	for _, step := range []struct {
		out  *bytes.Buffer
		args []string
	}{
		{nil, []string{"go", "build", "-o", program, "./cmd/foldout"}},
		{nil, []string{program, "demo", "--out", song}},
		{nil, []string{program, "suggest", song, "--pairs", "4", "--format", "json", "--out", sheet}},
		{text, []string{program, "suggest", song, "--pairs", "4"}},
		{nil, []string{program, "report", sheet, "--rig", rigFile, "--html", page}},
		{nil, []string{program, "patch", sheet, "--rig", rigFile, "--svg", filepath.Join(out, "patch.svg"), "--force"}},
		{nil, []string{program, "sweep", song, "--svg", filepath.Join(out, "sweep.svg"), "--force"}},
	} {
		cmd := exec.Command(step.args[0], step.args[1:]...)
		cmd.Env = append(os.Environ(), "COLUMNS=100", "NO_COLOR=1")
		cmd.Stderr = os.Stderr
		if step.out != nil {
			cmd.Stdout = step.out
		}
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("%s: %w", strings.Join(step.args, " "), err)
		}
	}
	if err := os.WriteFile(filepath.Join(out, "terminal.svg"), terminal(text.String()), 0o644); err != nil {
		return err
	}
	if err := photograph(page, out); err != nil {
		return err
	}
	return bench(program, song, out)
}

func photograph(page, out string) error {
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium()), chromedp.NoSandbox, chromedp.DisableGPU)...)
	defer stop()
	ctx, stop = chromedp.NewContext(ctx)
	defer stop()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1120, 900), chromedp.Navigate((&url.URL{Scheme: "file", Path: page}).String())); err != nil {
		return err
	}
	for _, s := range shots {
		data, err := chromedp.Run(ctx, chromedp.Screenshot(chromedp.CSS(s.element)))
		if err != nil {
			return fmt.Errorf("%s: %w", s.file, err)
		}
		picture, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			return fmt.Errorf("%s: %w", s.file, err)
		}
		if err := save(filepath.Join(out, s.file), picture, s.high); err != nil {
			return err
		}
	}
	return nil
}

// save writes the top of a picture in few colours, so that the file stays small.
func save(path string, picture image.Image, high int) error {
	b := picture.Bounds()
	b.Max.Y = min(b.Max.Y, b.Min.Y+high)
	few := image.NewPaletted(b, common(picture, b))
	draw.Draw(few, b, picture, b.Min, draw.Src)
	var buffer bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if err := encoder.Encode(&buffer, few); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return os.WriteFile(path, buffer.Bytes(), 0o644)
}

// common are the most frequent colours of a part of a picture, at most 256, alike ones counted together.
func common(picture image.Image, b image.Rectangle) color.Palette {
	const keep = 0xf8 // bits of a channel by which colours are told apart
	count := map[[3]uint8]int{}
	first := map[[3]uint8]color.Color{}
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			c := color.NRGBAModel.Convert(picture.At(x, y)).(color.NRGBA)
			key := [3]uint8{c.R & keep, c.G & keep, c.B & keep}
			if count[key] == 0 {
				first[key] = c
			}
			count[key]++
		}
	}
	keys := slices.SortedFunc(maps.Keys(count), func(a, b [3]uint8) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), slices.Compare(a[:], b[:]))
	})
	var p color.Palette
	for _, k := range keys[:min(256, len(keys))] {
		p = append(p, first[k])
	}
	return p
}

func chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return "chromium"
}
