"""Writes iris.csv from scikit-learn's copy (made with scikit-learn 1.2.1)."""
from sklearn.datasets import load_iris

iris = load_iris()
with open("iris.csv", "w") as out:
    out.write("sepal_length_cm,sepal_width_cm,petal_length_cm,petal_width_cm,species\n")
    for row, kind in zip(iris.data, iris.target):
        out.write(",".join("%.1f" % v for v in row) + "," + str(iris.target_names[kind]) + "\n")
