package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
)

const (
	nameStems = "stems of all pairs"
	nameSox   = "sox -m of the same, pair by pair"
	pairs     = 8
)

// following races what is done with measured tracks. Each command runs in a cache of its own kind: as the measuring left
// it for what is done first, and with what an earlier run left for the others.
func following(s session, dir, temporary, foldout string, rounds int) error {
	paths, err := s.make(dir)
	if err != nil {
		return err
	}
	if err := readTracks(paths); err != nil {
		return err
	}
	measured, used, sheet := filepath.Join(temporary, "measured"), filepath.Join(temporary, "used"), filepath.Join(temporary, "sheet.json")
	k := strconv.Itoa(min(pairs, s.tracks/2))
	suggest := []string{foldout, "suggest", dir, "--pairs", k, "--format", "json", "--out", sheet, "--force"}
	afresh := func() error { // another run finds the tracks measured and nothing else done
		return errors.Join(os.RemoveAll(used), os.CopyFS(used, os.DirFS(measured)))
	}
	if err := quietly([]string{foldout, "measure", dir}, cacheIn(measured)); err != nil {
		return err
	}
	out := filepath.Join(temporary, "out")
	clear := func() error {
		return errors.Join(os.RemoveAll(out), os.RemoveAll(out+"-mix.wav"), os.RemoveAll(out+"-by-hand.csv"))
	}
	then := func(name string, before func() error, command ...string) contestant {
		return contestant{name: name, commands: [][]string{command}, env: cacheIn(used), before: before}
	}
	contestants := []contestant{
		then("first suggest", afresh, suggest...),
		then("later suggest", nil, suggest...),
		then("first levels", nil, foldout, "levels", sheet),
		then("later levels", nil, foldout, "levels", sheet),
		then("explain", nil, foldout, "explain", sheet),
		then("patch", nil, foldout, "patch", sheet),
		then("first report", nil, foldout, "report", sheet, "--html", filepath.Join(temporary, "report.html"), "--force"),
		then("later report", nil, foldout, "report", sheet, "--html", filepath.Join(temporary, "report.html"), "--force"),
		then(nameStems, clear, foldout, "stems", sheet, "--out", out, "--gain", "-30"),
	}
	results, err := race(contestants, rounds)
	if err != nil {
		return err
	}
	sox, soxErr := exec.LookPath("sox")
	if soxErr == nil {
		mixes, err := soxMixes(sox, sheet, dir, temporary)
		if err != nil {
			return err
		}
		more, err := race([]contestant{{name: nameSox, commands: mixes}}, rounds)
		if err != nil {
			return err
		}
		results = append(results, more...)
	}
	demo, err := race([]contestant{then("demo", clear, foldout, "demo", "--out", out)}, rounds)
	if err != nil {
		return err
	}
	results = append(results, demo...)
	printTable(os.Stdout, results)
	if soxErr != nil {
		fmt.Println("sox is not installed; its row is left out")
		return nil
	}
	by := map[string]cost{}
	for _, r := range results {
		by[r.name] = r.cost
	}
	fmt.Printf("CPU time of stems re sox -m: %.2f\n", by[nameStems].cpu/by[nameSox].cpu)
	return nil
}

// cacheIn is the environment in which programs keep their cache in a folder, on any system (os.UserCacheDir).
func cacheIn(dir string) []string {
	return append(os.Environ(), "XDG_CACHE_HOME="+dir, "HOME="+dir, "LocalAppData="+dir)
}

// quietly runs a command whose cost does not matter.
func quietly(command, env []string) error {
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Env = env
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w\n%s", command[1], err, out)
	}
	return nil
}

// soxMixes are the commands that sum the tracks of each pair of a sheet.
func soxMixes(sox, sheet, dir, temporary string) ([][]string, error) {
	content, err := os.ReadFile(sheet)
	if err != nil {
		return nil, err
	}
	var doc struct {
		Pairs []struct {
			Tracks []struct {
				File string `json:"file"`
			} `json:"tracks"`
		} `json:"pairs"`
	}
	if err := json.Unmarshal(content, &doc); err != nil {
		return nil, fmt.Errorf("%s: %w", sheet, err)
	}
	var commands [][]string
	for i, p := range doc.Pairs {
		if len(p.Tracks) == 0 {
			continue
		}
		command := []string{sox, "-V1"}
		if len(p.Tracks) > 1 { // one alone is no mix
			command = append(command, "-m")
		}
		for _, t := range p.Tracks {
			command = append(command, filepath.Join(dir, filepath.FromSlash(t.File)))
		}
		commands = append(commands, append(command, "-b", "24", filepath.Join(temporary, fmt.Sprintf("mix %d.wav", i+1)), "gain", "-30"))
	}
	return commands, nil
}
