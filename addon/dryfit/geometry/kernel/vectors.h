/* Points, vectors and boxes: in double precision for answers, in four lanes of single precision for the tree. */

#pragma once

#include <math.h>

#include "lanes.h"

typedef struct {
    double x, y, z;
} vec;

INLINE vec at(const double *from, int64_t row) {
    from += 3 * row;
    return (vec){from[0], from[1], from[2]};
}

INLINE vec minus(vec a, vec b) { return (vec){a.x - b.x, a.y - b.y, a.z - b.z}; }
INLINE vec plus(vec a, vec b) { return (vec){a.x + b.x, a.y + b.y, a.z + b.z}; }
INLINE vec times(vec a, double s) { return (vec){a.x * s, a.y * s, a.z * s}; }
INLINE double dot(vec a, vec b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
INLINE vec cross(vec a, vec b) { return (vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }
INLINE double norm(vec a) { return sqrt(dot(a, a)); }

INLINE vec unit(vec a) {
    double n = norm(a);
    return n > 0 ? times(a, 1 / n) : (vec){0, 0, 0};
}

INLINE vec lower(vec a, vec b) { return (vec){fmin(a.x, b.x), fmin(a.y, b.y), fmin(a.z, b.z)}; }
INLINE vec upper(vec a, vec b) { return (vec){fmax(a.x, b.x), fmax(a.y, b.y), fmax(a.z, b.z)}; }
INLINE double clamp(double x, double low, double high) { return x < low ? low : x > high ? high : x; }

typedef struct {
    vec low, high;
} span;

static const span NOWHERE = {{INFINITY, INFINITY, INFINITY}, {-INFINITY, -INFINITY, -INFINITY}};

INLINE void stretch(span *s, vec p) {
    s->low = lower(s->low, p);
    s->high = upper(s->high, p);
}

/* The fourth lane is free. */
typedef struct {
    f4 low, high;
} bounds;

static const bounds NOTHING = {{INFINITY, INFINITY, INFINITY, INFINITY}, {-INFINITY, -INFINITY, -INFINITY, -INFINITY}};

INLINE f4 narrowed(vec p) { return (f4){(float)p.x, (float)p.y, (float)p.z, 0}; }
INLINE vec widened(f4 p) { return (vec){p[0], p[1], p[2]}; }

INLINE void widen(bounds *b, bounds other) {
    b->low = min4(b->low, other.low);
    b->high = max4(b->high, other.high);
}

INLINE void include(bounds *b, f4 p) {
    b->low = min4(b->low, p);
    b->high = max4(b->high, p);
}

INLINE float half_area(bounds b) {
    f4 s = b.high - b.low;
    return s[0] * s[1] + s[1] * s[2] + s[2] * s[0];
}
