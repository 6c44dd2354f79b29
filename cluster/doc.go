// Package cluster sorts vectors into groups under constraints and measures how
// good a grouping is. It knows nothing of where the vectors come from.
//
// Input is a gonum mat.Matrix x of n rows and d columns: a row is an
// observation, a column a dimension. Columns should be commensurable before
// they get here; Standardize does that. A grouping is a slice of n labels.
//
//   - KMeans finds a partition of least within-cluster sum of squares under
//     must-link, cannot-link, pinned observations, size and load caps.
//   - WithinSS, Silhouette and Gap judge a partition; MatchLabels renames the
//     labels of one after another.
//   - DistanceTerms tells which dimensions put an observation where it is.
//
// Every result is a deterministic function of its arguments, the seed included.
// Functions return errors for input they cannot use (values that are not
// finite, lengths that do not agree, constraints that contradict one another);
// they do not panic on it.
//
// Units: sums of squares are in squared units of the columns, weighted where
// weights are given; distances in units of the columns; all indices of merit
// are pure numbers.
package cluster
