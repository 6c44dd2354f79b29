// Package habits learns from the sheets that an engineer kept which kinds of track they put on one pair, and when, where that
// differs from the trade.
//
// The trade's habits are a tree of roles (package trade): two roles meet at a height, a squared distance, and a fold onto few pairs
// joins what meets low. Those heights are a prior here. Learn takes sheets and finds the most probable heights of the
// person who made them, shrunk towards the trade; a few sheets are enough, and one odd sheet changes little. Write and Load keep
// them in a file that can be read and edited; NewSpace lays the roles out by them, for package fold.
//
// Heights have no unit; those of the trade lie between 0.03 and 7. Everything is deterministic.
package habits
