import math


def feed(z, fz, n):
    return z * fz * n


print(feed(2, 0.05, 12000))
