package fold

import "foldout/plan/sheet"

// Options are the user's choices for a fold.
type Options struct {
	Pairs    int // 1 to MaxPairs
	Seed     uint64
	EarsOnly bool           // ignore names
	Tie      []string       // "A,B": tracks that share a pair
	Apart    []string       // "A,B": tracks that never share one
	Pin      []string       // "A=3": track A goes to pair 3
	Exclude  []string       // patterns ("*ref*", names without extension) of files to set aside
	Table    *sheet.Manual  // a grouping made by hand: the tracks it places take part whatever they sound like
	Only     string         // with Table: tracks that it does not place are set aside, for this reason; "": they take part
	Include  []string       // patterns of files that take part whatever they sound like; Include goes before Exclude and before findings
	Outputs  [][2]int       // line outputs of each pair; nil: pair n has 2n-1 and 2n
	Devices  []string       // interface of each pair's outputs; nil: not known
	Offsets  []sheet.Offset // where files begin that start late without a time stamp; a record, for the tracks are measured by it
	Kin      Kin            // found earlier among the same tracks; nil: find them
	UseAll   bool           // cut kinds of track in two rather than leave a pair free
	Version  string         // of the program, for the record
	Habits   *sheet.Habits  // of the engineer; nil for those of the trade
	kept     sheet.Settings // of an older sheet, see Keep
}

// OptionError says that the user's choices do not fit the tracks, or one another.
type OptionError struct{ Err error }

func (e *OptionError) Error() string { return e.Err.Error() }

func (e *OptionError) Unwrap() error { return e.Err }

// OptionsOf are the choices that a sheet was made with. Outputs and relations are not among them.
func OptionsOf(set sheet.Settings) Options {
	return Options{Pairs: set.Pairs, Seed: set.Seed, EarsOnly: set.EarsOnly, Tie: set.Tie, Apart: set.Apart, Pin: set.Pin, Exclude: set.Exclude, Include: set.Include, UseAll: set.UseAll, Offsets: set.Offsets, Version: set.Version, Habits: set.Habits}
}

// settings is the record of the choices for the sheet.
func (o *Options) settings() sheet.Settings {
	return sheet.Settings{Pairs: o.Pairs, Seed: o.Seed, EarsOnly: o.EarsOnly, Tie: o.Tie, Apart: o.Apart, Pin: o.Pin, Exclude: o.Exclude, Include: o.Include, UseAll: o.UseAll, Offsets: o.Offsets, Version: o.Version, Habits: o.Habits}
}
