package main

import (
	"crypto/sha256"
	"debug/buildinfo"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"
)

// partsOf lists what a binary is made of, as an SPDX document, and the licence texts of all of it.
func partsOf(binary, version string, when time.Time) ([]file, error) {
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return nil, err
	}
	content, err := os.ReadFile(binary)
	if err != nil {
		return nil, err
	}
	doc := document{
		Version: "SPDX-2.3", License: "CC0-1.0", ID: "SPDXRef-DOCUMENT", Name: "foldout-" + version,
		Namespace: fmt.Sprintf("https://spdx.org/spdxdocs/foldout-%s-%x", version, sha256.Sum256(content)),
		Creation:  creation{Created: when.Format(time.RFC3339), Creators: []string{"Tool: foldout-release"}},
		Packages: []part{
			{ID: "SPDXRef-foldout", Name: "foldout", Version: version, Location: "NOASSERTION", Declared: "MIT", Concluded: "MIT", Copyright: "NOASSERTION"},
			{ID: "SPDXRef-go", Name: "go", Version: info.GoVersion, Location: "https://go.dev/dl/", Declared: "BSD-3-Clause", Concluded: "NOASSERTION", Copyright: "NOASSERTION"},
		},
		Relations: []relation{{"SPDXRef-DOCUMENT", "SPDXRef-foldout", "DESCRIBES"}, {"SPDXRef-foldout", "SPDXRef-go", "CONTAINS"}},
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	files, err := licences("licences/go", strings.TrimSpace(string(root)))
	if err != nil {
		return nil, err
	}
	for n, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		p, err := partOf(n, m)
		if err != nil {
			return nil, err
		}
		doc.Packages = append(doc.Packages, p)
		doc.Relations = append(doc.Relations, relation{"SPDXRef-foldout", p.ID, "CONTAINS"})
		dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", m.Path).Output()
		if err != nil {
			return nil, fmt.Errorf("%s: its folder is not known: %w", m.Path, err)
		}
		texts, err := licences(path.Join("licences", m.Path), strings.TrimSpace(string(dir)))
		if err != nil {
			return nil, err
		}
		files = append(files, texts...)
	}
	list, err := json.MarshalIndent(doc, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(files, file{path: "sbom.spdx.json", content: append(list, '\n')}), nil
}

// partOf describes a module. Its checksum is that of the Go checksum database, which is a SHA-256 over the names and sums
// of its files.
func partOf(n int, m *debug.Module) (part, error) {
	p := part{ID: fmt.Sprintf("SPDXRef-module-%d", n+1), Name: m.Path, Version: m.Version, Location: "https://" + m.Path,
		Declared: "NOASSERTION", Concluded: "NOASSERTION", Copyright: "NOASSERTION",
		References: []reference{{"PACKAGE-MANAGER", "purl", "pkg:golang/" + m.Path + "@" + m.Version}}}
	text, ok := strings.CutPrefix(m.Sum, "h1:")
	if !ok {
		return p, fmt.Errorf("%s %s has no checksum", m.Path, m.Version)
	}
	sum, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return p, fmt.Errorf("%s: %w", m.Path, err)
	}
	p.Comment = fmt.Sprintf("h1 of the module (golang.org/x/mod/sumdb/dirhash): %x", sum)
	return p, nil
}

// licences are the licence texts and notices at the top of a folder. It is an error if there are none.
func licences(to, dir string) ([]file, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var files []file
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		for _, word := range []string{"LICENSE", "LICENCE", "COPYING", "NOTICE", "PATENTS", "UNLICENSE"} {
			if strings.HasPrefix(name, word) && e.Type().IsRegular() && filepath.Ext(name) != ".GO" {
				files = append(files, file{path: path.Join(to, e.Name()), from: filepath.Join(dir, e.Name())})
				break
			}
		}
	}
	if len(files) == 0 {
		return nil, errors.New(dir + " has no licence text")
	}
	return files, nil
}

// The part of SPDX 2.3 (https://spdx.github.io/spdx-spec/v2.3/) that a list of modules needs.
type document struct {
	Version   string     `json:"spdxVersion"`
	License   string     `json:"dataLicense"`
	ID        string     `json:"SPDXID"`
	Name      string     `json:"name"`
	Namespace string     `json:"documentNamespace"`
	Creation  creation   `json:"creationInfo"`
	Packages  []part     `json:"packages"`
	Relations []relation `json:"relationships"`
}

type creation struct {
	Created  string   `json:"created"`
	Creators []string `json:"creators"`
}

type part struct {
	ID         string      `json:"SPDXID"`
	Name       string      `json:"name"`
	Version    string      `json:"versionInfo"`
	Location   string      `json:"downloadLocation"`
	Analysed   bool        `json:"filesAnalyzed"`
	Declared   string      `json:"licenseDeclared"`
	Concluded  string      `json:"licenseConcluded"`
	Copyright  string      `json:"copyrightText"`
	Comment    string      `json:"comment,omitempty"`
	References []reference `json:"externalRefs,omitempty"`
}

type reference struct {
	Category string `json:"referenceCategory"`
	Type     string `json:"referenceType"`
	Locator  string `json:"referenceLocator"`
}

type relation struct {
	From string `json:"spdxElementId"`
	To   string `json:"relatedSpdxElement"`
	Type string `json:"relationshipType"`
}
