/* Points that ride a skin as it is posed: deformation gradients round vertices, and the turns nearest to them.

   The sums, products and quotients are those of the numpy twin, in its order, so that both give the same bits. */

#pragma once

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "vectors.h"

#define TOGETHER 4096
#define POLAR_STEPS 12

static const double POLAR_PRECISION = 5e-7, SINGULAR = 1e-9, TURN_ERROR = 1e-12;

/* Matrices worked on at a time, entry by entry: entry[3 * row + column][which]. */
typedef struct {
    double entry[9][TOGETHER];
} matrices;

/* Two edges of a triangle and its normal, scaled to the square root of twice its area, as columns. */
INLINE void edge_frame(const double *vertices, const int32_t *face, double frame[3][3]) {
    vec start = at(vertices, face[0]);
    vec one = minus(at(vertices, face[1]), start), other = minus(at(vertices, face[2]), start);
    vec normal = cross(one, other);
    double length = norm(normal), root = sqrt(length > 0 ? length : 1);
    const double rows[3][3] = {
        {one.x, other.x, normal.x / root},
        {one.y, other.y, normal.y / root},
        {one.z, other.z, normal.z / root},
    };
    memcpy(frame, rows, sizeof rows);
}

/* Add each triangle's weighted gradient to its corners, those of first, second and third corners apart; 27 a vertex. */
static void gather(const double *vertices, const int32_t *faces, int64_t m, const double *inverse, double *sums) {
    for (int64_t f = 0; f < m; f++) {
        double frame[3][3], gradient[9];
        edge_frame(vertices, faces + 3 * f, frame);
        for (int entry = 0; entry < 9; entry++) {
            const double *row = frame[entry / 3], *column = inverse + (entry % 3) * m + f;
            gradient[entry] = row[0] * column[0] + row[1] * column[3 * m] + row[2] * column[6 * m];
        }
        for (int corner = 0; corner < 3; corner++) {
            double *sum = sums + 27 * faces[3 * f + corner] + 9 * corner;
            for (int entry = 0; entry < 9; entry++) {
                sum[entry] += gradient[entry];
            }
        }
    }
}

/* The mean gradient round each vertex, 9 a vertex, in place of the sums; a vertex of no area keeps its shape. */
static void average(double *sums, int64_t n, const double *share, const uint8_t *alone) {
    for (int64_t v = 0; v < n; v++) {
        const double *apart = sums + 27 * v;
        for (int entry = 0; entry < 9; entry++) {
            double mean = (apart[entry] + apart[9 + entry] + apart[18 + entry]) * share[v];
            sums[9 * v + entry] = alone[v] ? entry % 4 == 0 : mean;
        }
    }
}

/* The gradient at some bound places, by the weights of their triangles' corners. */
static void at_places(const double *gradient, const int32_t *faces, const int32_t *face, const double *weight,
                      int64_t count, matrices *found) {
    for (int64_t i = 0; i < count; i++) {
        const int32_t *corner = faces + 3 * face[i];
        const double *a = gradient + 9 * corner[0], *b = gradient + 9 * corner[1], *c = gradient + 9 * corner[2];
        const double *w = weight + 3 * i;
        for (int entry = 0; entry < 9; entry++) {
            found->entry[entry][i] = w[0] * a[entry] + w[1] * b[entry] + w[2] * c[entry];
        }
    }
}

/* Row "row" of the cofactors: the cross product of the two rows after it. */
INLINE void cofactor_row(const matrices *m, int row, int64_t i, double into[3]) {
    const int next = (row + 1) % 3, last = (row + 2) % 3;
    for (int axis = 0; axis < 3; axis++) {
        const int ahead = (axis + 1) % 3, back = (axis + 2) % 3;
        into[axis] = m->entry[3 * next + ahead][i] * m->entry[3 * last + back][i] -
                     m->entry[3 * next + back][i] * m->entry[3 * last + ahead][i];
    }
}

/* One of Newton's steps toward the nearest turns; returns whether any entry goes further than what is precise enough. */
static int newton_step(const matrices *restrict now, int64_t count, matrices *restrict next) {
    int64_t far = 0;
    for (int64_t i = 0; i < count; i++) {
        double rows[3][3];
        for (int row = 0; row < 3; row++) {
            cofactor_row(now, row, i, rows[row]);
        }
        double determinant =
            now->entry[0][i] * rows[0][0] + now->entry[1][i] * rows[0][1] + now->entry[2][i] * rows[0][2];
        determinant = fabs(determinant) > SINGULAR ? determinant : NAN;
        for (int entry = 0; entry < 9; entry++) {
            double step = (rows[entry / 3][entry % 3] / determinant - now->entry[entry][i]) * 0.5;
            next->entry[entry][i] = now->entry[entry][i] + step;
            far |= fabs(step) > POLAR_PRECISION;
        }
    }
    return far != 0;
}

/* Replace matrices by the turns nearest to them, by Newton's iteration; returns which of two holds them. */
static matrices *nearest_turns(matrices pair[2], int64_t count) {
    matrices *now = pair;
    for (int step = 0; step < POLAR_STEPS; step++) {
        matrices *next = now == pair ? pair + 1 : pair;
        int goes_on = newton_step(now, count, next);
        now = next;
        if (!goes_on) {
            break;
        }
    }
    return now;
}

INLINE double row_product(const matrices *m, int one, int other, int64_t i) {
    return m->entry[3 * one][i] * m->entry[3 * other][i] + m->entry[3 * one + 1][i] * m->entry[3 * other + 1][i] +
           m->entry[3 * one + 2][i] * m->entry[3 * other + 2][i];
}

/* Whether a matrix is a turn, to rounding: no mirror, rows of length one at right angles. */
INLINE int is_turn(const matrices *m, int64_t i) {
    double first[3], right = 1;
    cofactor_row(m, 0, i, first);
    double volume = m->entry[0][i] * first[0] + m->entry[1][i] * first[1] + m->entry[2][i] * first[2];
    for (int row = 0; row < 3; row++) {
        right *= fabs(row_product(m, row, row, i) - 1) < TURN_ERROR;
        right *= fabs(row_product(m, row, (row + 1) % 3, i)) < TURN_ERROR;
    }
    return volume > 0 && right > 0;
}

/* Where bound points are: the places they are bound to, and their offsets turned. */
static void put(const matrices *turns, const double *vertices, const int32_t *faces, const int32_t *face,
                const double *weight, const double *offset, int64_t count, double *points, uint8_t *wrong) {
    for (int64_t i = 0; i < count; i++) {
        const int32_t *corner = faces + 3 * face[i];
        const double *a = vertices + 3 * corner[0], *b = vertices + 3 * corner[1], *c = vertices + 3 * corner[2];
        const double *w = weight + 3 * i, *o = offset + 3 * i;
        for (int axis = 0; axis < 3; axis++) {
            double foot = w[0] * a[axis] + w[1] * b[axis] + w[2] * c[axis];
            double off = turns->entry[3 * axis][i] * o[0] + turns->entry[3 * axis + 1][i] * o[1] +
                         turns->entry[3 * axis + 2][i] * o[2];
            points[3 * i + axis] = foot + off;
        }
        wrong[i] = !is_turn(turns, i);
    }
}

/* Put k bound points where they are on n posed vertices of m triangles. inverse[3 * r + c][m] and share[n] are of the
   skin at rest; wrong[k] tells whose turn was not found. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(carry)(const double *vertices, int64_t n, const int32_t *faces, int64_t m, const double *inverse,
                            const double *share, const uint8_t *alone, const int32_t *face, const double *weight,
                            const double *offset, int64_t k, double *points, uint8_t *wrong) {
    double *sums = calloc((size_t)n * 27 + 1, sizeof *sums);
    matrices *pair = malloc(2 * sizeof *pair);
    if (!sums || !pair) {
        free(sums);
        free(pair);
        return -1;
    }
    gather(vertices, faces, m, inverse, sums);
    average(sums, n, share, alone);
    for (int64_t start = 0; start < k; start += TOGETHER) {
        int64_t count = k - start < TOGETHER ? k - start : TOGETHER;
        at_places(sums, faces, face + start, weight + 3 * start, count, pair);
        const matrices *turns = nearest_turns(pair, count);
        put(turns, vertices, faces, face + start, weight + 3 * start, offset + 3 * start, count, points + 3 * start,
            wrong + start);
    }
    free(sums);
    free(pair);
    return 0;
}

#undef TOGETHER
#undef POLAR_STEPS
