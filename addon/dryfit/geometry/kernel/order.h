/* Queries in the order of space: neighbours ask one after the other, and what they read is at hand. */

#pragma once

#include "tree.h"

/* Pairs of neighbours that are looked at, and queries up to which the upper 22 bits of a key tell them apart. */
enum { PROBES = 512, FEW = 1 << 14 };

/* A coordinate in the unit ball as 11 bits with two zeros between each. */
INLINE uint64_t spread(double coordinate) {
    uint64_t x = (uint64_t)clamp((coordinate + 1.1) * 930, 0, 2047);
    x = (x | x << 32) & 0x1f00000000ffffull;
    x = (x | x << 16) & 0x1f0000ff0000ffull;
    x = (x | x << 8) & 0x100f00f00f00f00full;
    x = (x | x << 4) & 0x10c30c30c30c30c3ull;
    return (x | x << 2) & 0x1249249249249249ull;
}

INLINE uint64_t cell(const tree *t, vec p) {
    p = to_unit(t, p);
    return spread(p.x) | spread(p.y) << 1 | spread(p.z) << 2;
}

/* With directions, each ray stands for its point nearest the mesh's middle: rays from one eye and rays from one surface
   both fall into place. */
INLINE vec standing(const tree *t, const double *points, const double *directions, int64_t i) {
    vec p = at(points, i);
    if (!directions) {
        return p;
    }
    vec d = at(directions, i);
    double ahead = dot(minus(t->centre, p), d), size = dot(d, d);
    return ahead > 0 && size > 1e-200 ? plus(p, times(d, ahead / size)) : p;
}

/* Do most queries follow their neighbours already, as a grid's rows or a mesh's vertices do? Their mean step is then a
   few times the extent over the square root of their number. */
static int in_order(const tree *t, int64_t k, const double *points, const double *directions) {
    span all = NOWHERE;
    double steps = 0;
    int64_t stride = k / PROBES + 1, count = 0;
    for (int64_t i = 0; i + 1 < k; i += stride, count++) {
        vec p = standing(t, points, directions, i), q = standing(t, points, directions, i + 1);
        stretch(&all, p);
        steps += norm(minus(q, p));
    }
    return !count || steps / (double)count * sqrt((double)k) < 2 * norm(minus(all.high, all.low));
}

/* Sort keys by their upper bits, eleven at a time; other has as much room. Returns where they are then. */
static uint64_t *sorted_keys(uint64_t *keys, uint64_t *other, int64_t k) {
    for (int shift = k > FEW ? 31 : 42; shift < 64; shift += 11) {
        size_t start[2049] = {0};
        for (int64_t i = 0; i < k; i++) {
            start[(keys[i] >> shift & 2047) + 1]++;
        }
        for (int i = 0; i < 2048; i++) {
            start[i + 1] += start[i];
        }
        for (int64_t i = 0; i < k; i++) {
            other[start[keys[i] >> shift & 2047]++] = keys[i];
        }
        uint64_t *swap = keys;
        keys = other;
        other = swap;
    }
    return keys;
}

/* Order of k points along a Morton curve, or their own where that is as good. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(order)(const tree *t, int64_t k, const double *points, const double *directions, uint32_t *order) {
    if (in_order(t, k, points, directions)) {
        for (int64_t i = 0; i < k; i++) {
            order[i] = (uint32_t)i;
        }
        return 0;
    }
    uint64_t *keys = malloc((size_t)k * 2 * sizeof *keys);
    if (!keys) {
        return k ? -1 : 0;
    }
    for (int64_t i = 0; i < k; i++) {
        keys[i] = cell(t, standing(t, points, directions, i)) << 31 | (uint64_t)i;
    }
    const uint64_t *sorted = sorted_keys(keys, keys + k, k);
    for (int64_t i = 0; i < k; i++) {
        order[i] = (uint32_t)(sorted[i] & 0x7fffffff);
    }
    free(keys);
    return 0;
}
