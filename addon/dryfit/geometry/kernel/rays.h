/* What a ray hits first, or whether it hits anything. */

#pragma once

#include "descent.h"
#include "tree.h"

typedef struct {
    double distance, weight[3];
    int32_t face;
} hit;

/* A ray with its axes in the order of the exact test: z is its longest. */
typedef struct {
    double origin[3], along[3];
    int x, y, z;
    double shear_x, shear_y, limit;
} ray;

static ray aim(const double *origin, const double *direction, double limit) {
    double x = fabs(direction[0]), y = fabs(direction[1]), z = fabs(direction[2]), most = fmax(x, fmax(y, z));
    vec d = unit(times(at(direction, 0), 1 / most));
    int longest = most == x ? 0 : most == y ? 1 : 2;
    ray r = {
        {origin[0], origin[1], origin[2]}, {d.x, d.y, d.z}, (longest + 1) % 3, (longest + 2) % 3, longest, 0, 0, limit};
    r.shear_x = r.along[r.x] / r.along[longest];
    r.shear_y = r.along[r.y] / r.along[longest];
    return r;
}

/* Exact ray and face, watertight at edges and vertices (Woop, Benthin & Wald 2013): corners are sheared so that the ray
   is an axis, and a rounded difference of two products is never of the wrong sign, at worst zero, which counts as a
   hit. A face seen edge-on is no hit; both sides count; a hit at the origin counts. */
INLINE void test_ray(const tree *t, const ray *r, int32_t face, hit *best) {
    double x[3], y[3], z[3], w[3];
    for (int i = 0; i < 3; i++) {
        const double *p = t->vertices + 3 * (int64_t)t->faces[3 * (int64_t)face + i];
        z[i] = p[r->z] - r->origin[r->z];
        x[i] = p[r->x] - r->origin[r->x] - r->shear_x * z[i];
        y[i] = p[r->y] - r->origin[r->y] - r->shear_y * z[i];
    }
    for (int i = 0; i < 3; i++) {
        int j = (i + 1) % 3, k = (i + 2) % 3;
        w[i] = x[j] * y[k] - y[j] * x[k];
    }
    double sum = w[0] + w[1] + w[2];
    if (!((w[0] >= 0 && w[1] >= 0 && w[2] >= 0) || (w[0] <= 0 && w[1] <= 0 && w[2] <= 0)) || sum == 0) {
        return;
    }
    double distance = (w[0] * z[0] + w[1] * z[1] + w[2] * z[2]) / (sum * r->along[r->z]);
    if (distance < 0 || distance > r->limit) {
        return;
    }
    if (distance < best->distance || (distance == best->distance && face < best->face)) {
        *best = (hit){distance, {w[0] / sum, w[1] / sum, w[2] / sum}, face};
    }
}

/* The same ray in the tree's unit ball, eight lanes alike. A box is entered through its rows near_row. */
typedef struct {
    f8 origin[3], d[3], inverse[3], to_near[3], to_far[3];
    int near_row[3];
    float slack;
} ray8;

static ray8 prepare_ray(const tree *t, const ray *exact) {
    vec o = to_unit(t, at(exact->origin, 0));
    const double from[3] = {o.x, o.y, o.z};
    ray8 r;
    r.slack = MARGIN * (1 + (float)norm(o));
    for (int k = 0; k < 3; k++) {
        float step = (float)exact->along[k], inverse = 1 / (fabsf(step) > 1e-18f ? step : copysignf(1e-18f, step));
        float start = (float)from[k], shift = copysignf(r.slack, step);
        r.origin[k] = all8(start);
        r.d[k] = all8(step);
        r.inverse[k] = all8(inverse);
        r.to_near[k] = all8((start + shift) * -inverse);
        r.to_far[k] = all8((start - shift) * -inverse);
        r.near_row[k] = signbit(step) ? 3 + k : k;
    }
    return r;
}

/* Triangles of a leaf that the ray may hit before the limit (Moeller & Trumbore 1997, with slack). */
INLINE int leaf_hits(const leaf *l, const ray8 *r, float limit) {
    f8 s[3], e[3], g[3];
    for (int k = 0; k < 3; k++) {
        s[k] = r->origin[k] - load8(l->corner[k]);
        e[k] = load8(l->ab[k]);
        g[k] = load8(l->ac[k]);
    }
    const f8 *d = r->d;
    f8 across[3], over[3];
    cross8(d, g, across);
    cross8(s, e, over);
    f8 det = dot8(e, across);
    i8 sign = (i8)det & (int32_t)0x80000000;
    f8 u = (f8)((i8)dot8(s, across) ^ sign);
    f8 v = (f8)((i8)dot8(d, over) ^ sign);
    f8 w = (f8)((i8)dot8(g, over) ^ sign);
    det = (f8)((i8)det ^ sign);
    f8 size = abs8(e[0]) + abs8(e[1]) + abs8(e[2]) + abs8(g[0]) + abs8(g[1]) + abs8(g[2]);
    f8 slack = size * r->slack, deep = slack * size;
    i8 hits = (u >= -slack) & (v >= -slack) & (u + v <= det + slack + slack) & (w >= -deep) &
              (w <= (det + size * size * (4 * 0x1p-24f)) * limit + deep);
    return bits8(hits);
}

static void find_hit(const tree *t, const ray *exact, int any, hit *best) {
    ray8 r = prepare_ray(t, exact);
    float far = reach(t, fmin(best->distance, exact->limit), r.slack);
    waiting stack[STACK], next = {0, 0};
    int top = 0;
    do {
        while (next.child >= 0) {
            const node *n = &t->nodes[next.child];
            f8 enter = all8(0), leave = all8(far);
            for (int k = 0; k < 3; k++) {
                int row = r.near_row[k];
                enter = max8(enter, fused8(load8(n->box[row]), r.inverse[k], r.to_near[k]));
                leave = min8(leave, fused8(load8(n->box[row < 3 ? row + 3 : row - 3]), r.inverse[k], r.to_far[k]));
            }
            int marked = bits8(enter <= leave);
            if (!marked) {
                break;
            }
            next = nearest_first(stack, &top, n->child, enter, marked);
        }
        if (next.child >= 0) {
            continue;
        }
        const leaf *l = &t->leaves[~next.child];
        int32_t before = best->face;
        for (int left = leaf_hits(l, &r, far); left; left &= left - 1) {
            int i = lowest_bit(left);
            if (l->face[i] >= 0) {
                test_ray(t, exact, l->face[i], best);
            }
        }
        if (best->face == before) {
            continue;
        }
        if (any) {
            return;
        }
        far = reach(t, best->distance, r.slack);
    } while (take(stack, &top, far, &next));
}

/* First hit (or, with any, some hit) of rays order[0 .. k); directions of any length but zero; limits in length. */
VISIBLE void NAME(rays)(const tree *t, int64_t k, const uint32_t *order, const double *origins,
                        const double *directions, const double *limits, int32_t any, double *distance, int32_t *face,
                        double *weights) {
    int32_t previous = -1;
    for (int64_t i = 0; i < k; i++) {
        int64_t row = order[i], soon = order[i + AHEAD < k ? i + AHEAD : i];
        __builtin_prefetch(origins + 3 * soon);
        __builtin_prefetch(directions + 3 * soon);
        if (!any) {
            __builtin_prefetch(weights + 3 * soon, 1);
            __builtin_prefetch(distance + soon, 1);
        }
        ray r = aim(origins + 3 * row, directions + 3 * row, limits[row]);
        hit best = {INFINITY, {0, 0, 0}, INT32_MAX};
        if (any && previous >= 0) {
            test_ray(t, &r, previous, &best);
        }
        if (!any || best.face == INT32_MAX) {
            find_hit(t, &r, any, &best);
        }
        if (best.face < INT32_MAX) {
            previous = best.face;
        }
        face[row] = best.face < INT32_MAX ? best.face : -1;
        if (any) {
            continue;
        }
        distance[row] = best.distance;
        memcpy(weights + 3 * row, best.weight, sizeof best.weight);
    }
}
