"""Prints the reference figures quoted in the tests (scikit-learn 1.2.1, scipy 1.10.1, numpy 1.24.2)."""
import numpy as np
from scipy.cluster.hierarchy import fcluster, linkage
from scipy.optimize import linear_sum_assignment
from sklearn.cluster import KMeans
from sklearn.datasets import load_iris
from sklearn.metrics import (adjusted_rand_score, calinski_harabasz_score, davies_bouldin_score,
                             normalized_mutual_info_score, rand_score, silhouette_samples, silhouette_score)
from sklearn.preprocessing import StandardScaler

x, y = load_iris(return_X_y=True)
for k in range(2, 9):
    km = KMeans(k, n_init=200, random_state=0, tol=0, max_iter=1000).fit(x)
    print("k", k, "W %.8f" % km.inertia_, "sizes", sorted(np.bincount(km.labels_)),
          "sil %.6f" % silhouette_score(x, km.labels_), "ch %.4f" % calinski_harabasz_score(x, km.labels_),
          "db %.6f" % davies_bouldin_score(x, km.labels_), "ari %.6f" % adjusted_rand_score(y, km.labels_))
    if k == 3:
        print("  ri %.6f nmi %.6f" % (rand_score(y, km.labels_), normalized_mutual_info_score(y, km.labels_)))
        s = silhouette_samples(x, km.labels_)
        print("  sil by cluster", sorted(round(s[km.labels_ == c].mean(), 6) for c in range(k)))

w = 1 + np.arange(150) % 3
km = KMeans(3, n_init=200, random_state=0, tol=0, max_iter=1000).fit(x, sample_weight=w)
print("weights 1 + i mod 3: W %.8f" % km.inertia_, "sizes", sorted(np.bincount(km.labels_)))
z = StandardScaler().fit_transform(x)
for k in (2, 3):
    km = KMeans(k, n_init=200, random_state=0, tol=0, max_iter=1000).fit(z)
    print("z-scores k", k, "W %.8f" % km.inertia_, "sizes", sorted(np.bincount(km.labels_)))

merges = linkage(x, "ward")
labels = fcluster(merges, 3, "maxclust")
print("ward increases", ["%.8f" % v for v in merges[-6:, 2] ** 2 / 2])
print("ward k 3", sorted(np.bincount(labels)[1:]), "ari %.6f" % adjusted_rand_score(y, labels))

cost = np.array([[7, 53, 183, 439, 863], [497, 383, 563, 79, 973], [287, 63, 343, 169, 583]])
rows, cols = linear_sum_assignment(cost)
print("assignment", cols, cost[rows, cols].sum())
