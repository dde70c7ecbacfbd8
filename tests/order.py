"""P of the order of kicks by scipy: order.py TURN TURN ...

The share of orders in which neighbours are as near to each other as they were found: all of them
where there are few, else 9999 drawn ones (scipy.stats.permutation_test, pairings).
"""

import sys

import numpy as np
from scipy import stats


def main():
    turns = np.array([float(turn) for turn in sys.argv[1:]])

    def nearness(sample):
        return np.sum(np.cos(2 * np.pi * np.diff(sample)))

    found = stats.permutation_test(
        (turns,),
        nearness,
        permutation_type="pairings",
        vectorized=False,
        n_resamples=9999,
        alternative="greater",
        random_state=1,
    )
    print(repr(float(found.pvalue)))


if __name__ == "__main__":
    main()
