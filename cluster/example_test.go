package cluster_test

import (
	"errors"
	"fmt"

	"foldout/cluster"

	"gonum.org/v1/gonum/mat"
)

// Six points in two clusters, two of them tied across the gap.
func ExampleKMeans() {
	x := mat.NewDense(6, 2, []float64{
		0, 0,
		0, 1,
		1, 0,
		9, 9,
		9, 8,
		8, 9,
	})
	free, err := cluster.KMeans(x, 2, cluster.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	tied, err := cluster.KMeans(x, 2, cluster.Options{MustLink: [][]int{{2, 3}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v %.3f\n", free.Labels, free.WithinSS)
	fmt.Printf("%v %.3f\n", tied.Labels, tied.WithinSS)
	// Output:
	// [0 0 0 1 1 1] 2.667
	// [0 0 1 1 1 1] 102.250
}

// Constraints that contradict one another are an error that names the rows.
func ExampleInfeasibleError() {
	x := mat.NewDense(4, 1, []float64{0, 1, 2, 3})
	_, err := cluster.KMeans(x, 2, cluster.Options{CannotLink: [][2]int{{0, 1}, {1, 3}, {3, 0}}})
	var inf *cluster.InfeasibleError
	if errors.As(err, &inf) {
		fmt.Println(inf.Observations)
	}
	// Output: [0 1 3]
}

func ExampleSilhouette() {
	x := mat.NewDense(5, 1, []float64{0, 1, 2, 10, 11})
	s, err := cluster.Silhouette(x, []int{0, 0, 1, 1, 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, w := range s.Widths {
		fmt.Printf("%d: %+.2f, next best cluster %d\n", i, w, s.Neighbors[i])
	}
	// Output:
	// 0: +0.87, next best cluster 1
	// 1: +0.85, next best cluster 1
	// 2: -0.82, next best cluster 0
	// 3: +0.53, next best cluster 0
	// 4: +0.52, next best cluster 0
}

// Which dimension keeps the point with the first centre?
func ExampleDistanceTerms() {
	fmt.Println(cluster.DistanceTerms(nil, []float64{1, 5}, []float64{0, 5}, []float64{4, 6}))
	// Output: [8 1]
}

func ExampleMatchLabels() {
	reference := []int{0, 0, 1, 1, 2}
	labels := []int{2, 2, 0, 0, 1}
	rename, err := cluster.MatchLabels(reference, labels)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(rename)
	// Output: [1 2 0]
}
