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

/* A ray along a unit vector in its direction. */
INLINE ray sheared(const double *origin, const double *direction, const double *along, double limit) {
    double x = fabs(direction[0]), y = fabs(direction[1]), z = fabs(direction[2]), most = fmax(x, fmax(y, z));
    int longest = most == x ? 0 : most == y ? 1 : 2;
    ray r = {{origin[0], origin[1], origin[2]},
             {along[0], along[1], along[2]},
             (longest + 1) % 3,
             (longest + 2) % 3,
             longest,
             0,
             0,
             limit};
    r.shear_x = r.along[r.x] / r.along[longest];
    r.shear_y = r.along[r.y] / r.along[longest];
    return r;
}

static ray aim(const double *origin, const double *direction, double limit) {
    double x = fabs(direction[0]), y = fabs(direction[1]), z = fabs(direction[2]), most = fmax(x, fmax(y, z));
    vec d = unit(times(at(direction, 0), 1 / most));
    const double along[3] = {d.x, d.y, d.z};
    return sheared(origin, direction, along, limit);
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

/* The same ray in the tree's unit ball, eight lanes alike. Lengths along it count from its point nearest the ball's
   middle, stood before its origin: rays of one line are alike wherever they begin, and numbers stay small. A box is
   entered through its rows near_row. */
typedef struct {
    f8 origin[3], d[3], inverse[3], to_near[3], to_far[3];
    int near_row[3];
    float slack, start;
    double stood;
} ray8;

/* Where a length along a ray ends, counted from where it stands; rounded up and with a margin. */
INLINE float ahead(const tree *t, double length, double stood, float slack) {
    double scaled = length * t->scale - stood;
    return scaled < 1e15 ? (float)(scaled + fabs(scaled) * 1e-6) + slack : 1e15f;
}

/* Where it begins, rounded down and with a margin. */
INLINE float behind(double stood, float slack) { return -(float)(stood + fabs(stood) * 1e-6) - slack; }

/* How far a ray may be out in single precision where it stands, and in double from where it begins. */
INLINE float doubt_of(double off_middle, double stood) {
    return MARGIN * (1 + (float)off_middle) + (float)(fabs(stood) * 0x1p-48);
}

static ray8 prepare_ray(const tree *t, const ray *exact) {
    vec along = at(exact->along, 0), o = to_unit(t, at(exact->origin, 0));
    ray8 r;
    r.stood = -dot(o, along);
    o = plus(o, times(along, r.stood));
    const double from[3] = {o.x, o.y, o.z};
    r.slack = doubt_of(norm(o), r.stood);
    r.start = behind(r.stood, r.slack);
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

/* Triangles of a leaf that the ray may hit between start and limit (Moeller & Trumbore 1997, with slack). */
INLINE int leaf_hits(const leaf *l, const f8 origin[3], const f8 d[3], float ray_slack, float start, float limit) {
    f8 s[3], e[3], g[3];
    for (int k = 0; k < 3; k++) {
        s[k] = origin[k] - load8(l->corner[k]);
        e[k] = load8(l->ab[k]);
        g[k] = load8(l->ac[k]);
    }
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
    f8 slack = size * ray_slack, deep = slack * size, doubt = size * size * (4 * 0x1p-24f);
    i8 hits = (u >= -slack) & (v >= -slack) & (u + v <= det + slack + slack) &
              (w >= det * start - doubt * fabsf(start) - deep) & (w <= det * limit + doubt * fabsf(limit) + deep);
    return bits8(hits);
}

static void find_hit(const tree *t, const ray *exact, int any, hit *best) {
    ray8 r = prepare_ray(t, exact);
    float far = ahead(t, fmin(best->distance, exact->limit), r.stood, r.slack);
    waiting stack[STACK], next = {0, 0};
    int top = 0;
    do {
        while (next.child >= 0) {
            const node *n = &t->nodes[next.child];
            f8 enter = all8(r.start), leave = all8(far);
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
        for (int left = leaf_hits(l, r.origin, r.d, r.slack, r.start, far); left; left &= left - 1) {
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
        far = ahead(t, best->distance, r.stood, r.slack);
    } while (take(stack, &top, far, &next));
}
