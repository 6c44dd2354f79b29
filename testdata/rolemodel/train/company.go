package main

import (
	"bufio"
	"encoding/gob"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/company"
	"foldout/testdata/rolemodel/lab"
)

const (
	membersFile  = "company.gz" // in the folder of the kept vectors
	companyTable = "plan/company/company.csv"
)

// keepMembers joins what the tool in folds measured of whole sessions (gob files in a folder) with what ears that never met
// them say, and keeps it.
func keepMembers(heard []lab.Heard, dir, measured string) error {
	lead, backing := slices.Index(lab.Roles, "lead vocal"), slices.Index(lab.Roles, "backing vocal")
	told := map[string]lab.Heard{}
	for _, h := range heard {
		told[h.Body+"/"+h.File] = h
	}
	paths, err := filepath.Glob(filepath.Join(measured, "*.gob"))
	if err != nil {
		return err
	}
	slices.Sort(paths)
	var members []lab.Member
	for _, p := range paths {
		analyses, err := analyses(p)
		if err != nil {
			return fmt.Errorf("%s: %w", p, err)
		}
		session := strings.TrimSuffix(filepath.Base(p), ".gob")
		for _, a := range analyses {
			h, ok := told[session+"/"+a.Profile.File]
			if !ok {
				h, ok = told["song-"+session+"/"+a.Profile.File]
			}
			if !ok {
				continue // silent, or without a place in a fold
			}
			members = append(members, lab.Member{Session: h.Body, File: h.File, Family: h.Family,
				Lead: h.Probability[lead], Backing: h.Probability[backing], Track: company.Of(a)})
		}
	}
	return lab.WriteMembers(filepath.Join(dir, membersFile), members)
}

func analyses(path string) ([]*features.Analysis, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var kept struct {
		Analyses []*features.Analysis
		Kin      []kinship.Relation
	}
	err = gob.NewDecoder(bufio.NewReader(f)).Decode(&kept)
	return kept.Analyses, err
}

// settle fits the table of company, and writes what it does for the sessions of each maker when fitted without them.
func settle(dir string, w io.Writer) error {
	members, err := lab.ReadMembers(filepath.Join(dir, membersFile))
	if err != nil {
		return err
	}
	var train, unheard [][]lab.Member
	for _, s := range lab.Sessions(members) {
		if lab.Held(s[0].Session) {
			unheard = append(unheard, s)
		} else {
			train = append(train, s)
		}
	}
	fmt.Fprint(w, lab.CompanyHead)
	var before, after []lab.Told
	for _, maker := range lab.Makers(train) {
		m, err := lab.FitCompany(slices.DeleteFunc(slices.Clone(train), func(s []lab.Member) bool { return lab.Maker(s) == maker }))
		if err != nil {
			return err
		}
		var b, a []lab.Told
		for _, s := range train {
			if lab.Maker(s) == maker {
				b, a = append(b, lab.Tell(s, lab.EarsAlone)...), append(a, lab.Tell(s, m)...)
			}
		}
		lab.CompanyLine(w, "sessions "+maker, b, a)
		before, after = append(before, b...), append(after, a...)
	}
	lab.CompanyLine(w, "all of these", before, after)
	m, err := lab.FitCompany(train)
	if err != nil {
		return err
	}
	for _, s := range unheard {
		lab.CompanyLine(w, s[0].Session, lab.Tell(s, lab.EarsAlone), lab.Tell(s, m))
	}
	return os.WriteFile(companyTable, []byte(m.Table()), 0o644)
}
