/* Exact questions to one triangle, in double precision. */

#pragma once

#include "vectors.h"

static const double PI = 3.14159265358979323846;

/* feature: 0 face; 1 + i the edge from corner i to the next; 4 + i corner i */
typedef struct {
    double squared, weight[3];
    int32_t face;
    uint8_t feature;
} nearest;

/* Closest point of segment a b to the origin, kept where nearer than what is there. */
INLINE void test_edge(vec a, vec b, int edge, nearest *best) {
    vec ab = minus(b, a);
    double length2 = dot(ab, ab), s = length2 > 0 ? clamp(-dot(a, ab) / length2, 0, 1) : 0;
    vec q = s < 1 ? plus(a, times(ab, s)) : b;
    double squared = dot(q, q);
    if (squared >= best->squared) {
        return;
    }
    int next = (edge + 1) % 3;
    best->squared = squared;
    best->weight[edge] = 1 - s;
    best->weight[next] = s;
    best->weight[(edge + 2) % 3] = 0;
    best->feature = (uint8_t)(s <= 0 ? 4 + edge : s >= 1 ? 4 + next : 1 + edge);
}

/* Closest point of a triangle to the origin. */
INLINE nearest nearest_of(const vec corner[3], int32_t face) {
    vec a = corner[0], b = corner[1], c = corner[2], ab = minus(b, a), ac = minus(c, a), n = cross(ab, ac);
    double n2 = dot(n, n), u = dot(n, cross(b, minus(c, b))), v = dot(n, cross(c, minus(a, c))), w = n2 - u - v;
    if (u > 0 && v > 0 && w > 0 && n2 > 1e-24 * dot(ab, ab) * dot(ac, ac)) {
        u /= n2;
        v /= n2;
        w = 1 - u - v;
        vec q = plus(a, plus(times(ab, v), times(ac, w)));
        return (nearest){dot(q, q), {u, v, w}, face, 0};
    }
    nearest here = {INFINITY, {0, 0, 0}, face, 0};
    test_edge(a, b, 0, &here);
    test_edge(b, c, 1, &here);
    test_edge(c, a, 2, &here);
    return here;
}

/* Solid angle seen from the origin, over 4 pi (van Oosterom & Strackee 1983). */
INLINE double winding_of(const vec corner[3]) {
    vec a = corner[0], b = corner[1], c = corner[2];
    double x = norm(a), y = norm(b), z = norm(c);
    double above = dot(a, cross(b, c)), below = x * y * z + dot(a, b) * z + dot(b, c) * x + dot(c, a) * y;
    return above == 0 && below <= 0 ? 0 : atan2(above, below) / (2 * PI);
}

/* Height of p over the plane of triangle b times twice its area; 0 where rounding could have made it up. */
static double height_over(vec p, const vec b[3]) {
    vec side = minus(b[1], b[0]), other = minus(b[2], b[0]), to = minus(p, b[0]);
    double h = dot(cross(side, other), to), doubt = 1e-28 * dot(side, side) * dot(other, other) * dot(to, to);
    return h * h > doubt ? h : 0;
}

/* Has a corners strictly on both sides of the plane of b? Their heights go to h. */
static int straddles(const vec a[3], const vec b[3], double h[3]) {
    for (int i = 0; i < 3; i++) {
        h[i] = height_over(a[i], b);
    }
    return (h[0] > 0 || h[1] > 0 || h[2] > 0) && (h[0] < 0 || h[1] < 0 || h[2] < 0);
}

/* Does a side of a pass through b: ends strictly on either side by their heights, the border of b included? */
static int pierces(const vec a[3], const double h[3], const vec b[3]) {
    for (int i = 0; i < 3; i++) {
        int j = (i + 1) % 3;
        if (!((h[i] > 0 && h[j] < 0) || (h[i] < 0 && h[j] > 0))) {
            continue;
        }
        vec d = minus(a[j], a[i]), x = minus(b[0], a[i]), y = minus(b[1], a[i]), z = minus(b[2], a[i]);
        double u = dot(d, cross(y, z)), v = dot(d, cross(z, x)), w = dot(d, cross(x, y));
        if ((u >= 0 && v >= 0 && w >= 0) || (u <= 0 && v <= 0 && w <= 0)) {
            return 1;
        }
    }
    return 0;
}

static int cross_each_other(const vec a[3], const vec b[3]) {
    double over_b[3], over_a[3];
    return straddles(a, b, over_b) && straddles(b, a, over_a) && (pierces(a, over_b, b) || pierces(b, over_a, a));
}
