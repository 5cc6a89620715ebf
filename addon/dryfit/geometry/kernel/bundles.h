/* Eight rays that go about the same way, taken down the tree together.

   A node is asked once for all of them, by bounds on where they start and how steeply they run; only a leaf asks each. A
   bundle that spreads too far for that to pay is given up, and its rays go on alone from what it has found. */

#pragma once

#include "rays.h"

/* Nodes and leaves a bundle may ask before it is given up: more than eight rays by themselves would, but each is asked
   sooner. And how many bundles are left untried at most after one that was given up. */
enum { PATIENCE = 96, LONGEST_REST = 63 };

/* along: unit directions. Lanes of the f8 are rays; a box is entered through its rows near_row. Each ray meets a side of
   a box between steep[k][0] and steep[k][1] times (side - from[k]), from lying outside by the margin. */
typedef struct {
    double along[3][WIDTH], stood[WIDTH];
    f8 origin[3], d[3], inverse[3], to_near[3], to_far[3], slack, start, far;
    f8 steep[3][2], near_shift[3][2], far_shift[3][2];
    int near_row[3];
    float first;
    hit best[WIDTH];
} bundle;

/* Where the rays of a bundle stand in the caller's arrays. */
typedef struct {
    const double *origins, *directions, *limits;
    int64_t limit_step, row[WIDTH];
} bundled;

/* As aim() does it, ray by ray the same. */
INLINE void aim_bundle(const bundled *rays, double along[3][WIDTH]) {
    double x[WIDTH], y[WIDTH], z[WIDTH];
    for (int i = 0; i < WIDTH; i++) {
        const double *d = rays->directions + 3 * rays->row[i];
        x[i] = d[0];
        y[i] = d[1];
        z[i] = d[2];
    }
    for (int i = 0; i < WIDTH; i++) {
        double a = fabs(x[i]), b = fabs(y[i]), c = fabs(z[i]), most = a > b ? a : b;
        most = 1 / (most > c ? most : c);
        a = x[i] * most;
        b = y[i] * most;
        c = z[i] * most;
        double n = sqrt(a * a + b * b + c * c), s = 1 / n;
        along[0][i] = n > 0 ? a * s : 0;
        along[1][i] = n > 0 ? b * s : 0;
        along[2][i] = n > 0 ? c * s : 0;
    }
}

/* Where rays stand in the unit ball, and how far each may be out. */
INLINE void place_bundle(const tree *t, const bundled *rays, bundle *b) {
    double o[3][WIDTH], off[WIDTH];
    float slack[WIDTH], start[WIDTH], far[WIDTH], from[3][WIDTH];
    for (int i = 0; i < WIDTH; i++) {
        const double *p = rays->origins + 3 * rays->row[i];
        o[0][i] = p[0];
        o[1][i] = p[1];
        o[2][i] = p[2];
    }
    const double *x = b->along[0], *y = b->along[1], *z = b->along[2];
    for (int i = 0; i < WIDTH; i++) {
        double p = (o[0][i] - t->centre.x) * t->scale, q = (o[1][i] - t->centre.y) * t->scale;
        double r = (o[2][i] - t->centre.z) * t->scale, stood = -(p * x[i] + q * y[i] + r * z[i]);
        p += x[i] * stood;
        q += y[i] * stood;
        r += z[i] * stood;
        b->stood[i] = stood;
        off[i] = sqrt(p * p + q * q + r * r);
        from[0][i] = (float)p;
        from[1][i] = (float)q;
        from[2][i] = (float)r;
    }
    for (int i = 0; i < WIDTH; i++) {
        slack[i] = doubt_of(off[i], b->stood[i]);
        start[i] = behind(b->stood[i], slack[i]);
        far[i] = ahead(t, rays->limits[rays->limit_step * rays->row[i]], b->stood[i], slack[i]);
    }
    b->slack = load8(slack);
    b->start = load8(start);
    b->far = load8(far);
    for (int k = 0; k < 3; k++) {
        b->origin[k] = load8(from[k]);
    }
}

/* What bounds a bundle along axis k, all of it going up (sign 0) or down. */
INLINE void bound_bundle(bundle *b, int k, int down) {
    const f8 shift = down ? -b->slack : b->slack;
    const f8 low = b->origin[k] - b->slack, high = b->origin[k] + b->slack;
    b->to_near[k] = (b->origin[k] + shift) * -b->inverse[k];
    b->to_far[k] = (b->origin[k] - shift) * -b->inverse[k];
    b->near_row[k] = down ? 3 + k : k;
    const float near_from = down ? least8(low) : most8(high), far_from = down ? most8(high) : least8(low);
    const float steep[2] = {least8(b->inverse[k]), most8(b->inverse[k])};
    for (int i = 0; i < 2; i++) {
        b->steep[k][i] = all8(steep[i]);
        b->near_shift[k][i] = all8(near_from * -steep[i]);
        b->far_shift[k][i] = all8(far_from * -steep[i]);
    }
}

/* Prepare eight rays; 0 where they don't all go the same way along every axis. */
INLINE int make_bundle(const tree *t, const bundled *rays, bundle *b) {
    int down[3];
    aim_bundle(rays, b->along);
    for (int k = 0; k < 3; k++) {
        float d[WIDTH];
        for (int i = 0; i < WIDTH; i++) {
            d[i] = (float)b->along[k][i];
        }
        b->d[k] = load8(d);
        down[k] = bits8((i8)b->d[k]);
        if (down[k] && down[k] != 255) {
            return 0;
        }
    }
    place_bundle(t, rays, b);
    for (int k = 0; k < 3; k++) {
        const f8 least = all8(down[k] ? -1e-18f : 1e-18f);
        b->inverse[k] = 1 / choose8(abs8(b->d[k]) > 1e-18f, b->d[k], least);
        bound_bundle(b, k, down[k]);
    }
    b->first = least8(b->start);
    for (int i = 0; i < WIDTH; i++) {
        b->best[i] = (hit){INFINITY, {0, 0, 0}, INT32_MAX};
    }
    return 1;
}

/* Which rays enter a child's box before what they have found? */
INLINE int rays_into(const node *n, int lane, const bundle *b) {
    f8 enter = b->start, leave = b->far;
    for (int k = 0; k < 3; k++) {
        int row = b->near_row[k];
        enter = max8(enter, fused8(all8(n->box[row][lane]), b->inverse[k], b->to_near[k]));
        leave = min8(leave, fused8(all8(n->box[row < 3 ? row + 3 : row - 3][lane]), b->inverse[k], b->to_far[k]));
    }
    return bits8(enter <= leave);
}

/* Which children may any of the rays enter, and how far along at the earliest? */
INLINE int children_met(const node *n, const bundle *b, float far, f8 *earliest) {
    f8 enter = all8(b->first), leave = all8(far);
    for (int k = 0; k < 3; k++) {
        int row = b->near_row[k];
        const f8 low = load8(n->box[row]), high = load8(n->box[row < 3 ? row + 3 : row - 3]);
        const f8 *steep = b->steep[k], *near = b->near_shift[k], *beyond = b->far_shift[k];
        enter = max8(enter, min8(fused8(low, steep[0], near[0]), fused8(low, steep[1], near[1])));
        leave = min8(leave, max8(fused8(high, steep[0], beyond[0]), fused8(high, steep[1], beyond[1])));
    }
    *earliest = enter;
    return bits8(enter <= leave);
}

/* Ask memory for a face's corners. */
INLINE void fetch_face(const tree *t, int32_t face) {
    if (face < 0) {
        return;
    }
    for (int i = 0; i < 3; i++) {
        __builtin_prefetch(t->vertices + 3 * (int64_t)t->faces[3 * (int64_t)face + i]);
    }
}

/* A ray of a bundle and the triangles of a leaf that it may hit. */
typedef struct {
    int lane, faces;
} meeting;

/* Exact tests of what a ray may hit in a leaf. Returns whether it found anything nearer. */
INLINE int settle_ray(const tree *t, const leaf *l, const bundled *rays, bundle *b, meeting m) {
    int64_t row = rays->row[m.lane];
    const double along[3] = {b->along[0][m.lane], b->along[1][m.lane], b->along[2][m.lane]};
    const ray exact = sheared(rays->origins + 3 * row, rays->directions + 3 * row, along, rays->limits[rays->limit_step * row]);
    const int32_t before = b->best[m.lane].face;
    for (int left = m.faces; left; left &= left - 1) {
        int32_t face = l->face[lowest_bit(left)];
        if (face >= 0) {
            test_ray(t, &exact, face, &b->best[m.lane]);
        }
    }
    return b->best[m.lane].face != before;
}

/* All rays of a bundle that enter a leaf. A ray that needs nothing more is done with: nothing lies before its far end. */
INLINE void ask_leaf(const tree *t, const leaf *l, const bundled *rays, bundle *b, int into, int any) {
    meeting met[WIDTH];
    int count = 0, faces = 0;
    for (; into; into &= into - 1) {
        int i = lowest_bit(into);
        const f8 origin[3] = {all8(b->origin[0][i]), all8(b->origin[1][i]), all8(b->origin[2][i])};
        const f8 d[3] = {all8(b->d[0][i]), all8(b->d[1][i]), all8(b->d[2][i])};
        int hits = leaf_hits(l, origin, d, b->slack[i], b->start[i], b->far[i]);
        met[count] = (meeting){i, hits};
        count += hits != 0;
        faces |= hits;
    }
    for (; faces; faces &= faces - 1) {
        fetch_face(t, l->face[lowest_bit(faces)]);
    }
    for (int i = 0; i < count; i++) {
        int lane = met[i].lane;
        if (settle_ray(t, l, rays, b, met[i])) {
            b->far[lane] = any ? -1e30f : ahead(t, b->best[lane].distance, b->stood[lane], b->slack[lane]);
        }
    }
}

/* Ask memory for what rays read of a node or leaf. */
INLINE void fetch_child(const tree *t, int32_t child) {
    const char *first = child > 0 ? (const char *)&t->nodes[child] : (const char *)&t->leaves[~child];
    for (int i = 0; i < 5; i++) {
        __builtin_prefetch(first + 64 * i);
    }
}

/* Take a bundle down the tree. A child that waits is known by its parent and lane. Returns 0 where it is given up. */
static int find_hits(const tree *t, const bundled *rays, bundle *b, int any) {
    waiting stack[STACK], next;
    int top = 0;
    float far = most8(b->far);
    const node *n = t->nodes;
    for (int asked = 0; asked < PATIENCE; asked++) {
        f8 enter;
        int marked = children_met(n, b, far, &enter);
        int32_t slot[WIDTH];
        for (int i = 0; i < WIDTH; i++) {
            slot[i] = (int32_t)(n - t->nodes) * WIDTH + i;
        }
        for (int left = marked; left; left &= left - 1) {
            fetch_child(t, n->child[lowest_bit(left)]);
        }
        if (marked) {
            next = nearest_first(stack, &top, slot, enter, marked);
        } else if (!take(stack, &top, far, &next)) {
            return 1;
        }
        while (1) {
            n = &t->nodes[next.child / WIDTH];
            int lane = next.child % WIDTH;
            int32_t child = n->child[lane];
            if (child > 0) {
                n = &t->nodes[child];
                break;
            }
            asked++;
            int into = rays_into(n, lane, b);
            if (into) {
                ask_leaf(t, &t->leaves[~child], rays, b, into, any);
                far = most8(b->far);
            }
            if (!take(stack, &top, far, &next)) {
                return 1;
            }
        }
    }
    return 0;
}

/* Where rays come from and where their hits go. distance and weights are not written where any hit will do. */
typedef struct {
    const double *origins, *directions, *limits;
    int64_t limit_step;
    double *distance, *weights;
    int32_t *face;
    int any;
} job;

INLINE void fetch_ray(const job *j, int64_t row) {
    __builtin_prefetch(j->origins + 3 * row);
    __builtin_prefetch(j->directions + 3 * row);
    __builtin_prefetch(j->limits + j->limit_step * row);
    __builtin_prefetch(j->face + row, 1);
    if (!j->any) {
        __builtin_prefetch(j->weights + 3 * row, 1);
        __builtin_prefetch(j->distance + row, 1);
    }
}

INLINE void note_hit(const job *j, int64_t row, const hit *best) {
    j->face[row] = best->face < INT32_MAX ? best->face : -1;
    if (!j->any) {
        j->distance[row] = best->distance;
        memcpy(j->weights + 3 * row, best->weight, sizeof best->weight);
    }
}

/* One ray by itself, from what is known of it. Where any hit will do, the face that stopped the ray before is asked
   first. */
static void cast_alone(const tree *t, const job *j, int64_t row, int32_t *previous, hit best) {
    ray r = aim(j->origins + 3 * row, j->directions + 3 * row, j->limits[j->limit_step * row]);
    if (j->any && *previous >= 0) {
        test_ray(t, &r, *previous, &best);
    }
    if (!j->any || best.face == INT32_MAX) {
        find_hit(t, &r, j->any, &best);
    }
    if (best.face < INT32_MAX) {
        *previous = best.face;
    }
    note_hit(j, row, &best);
}

/* After bundles that were given up, how many are not even tried: more each time. */
typedef struct {
    int rest, idle;
} temper;

INLINE void learn(temper *m, int whole, int found) {
    if (m->idle) {
        m->idle--;
    } else if (found) {
        m->rest /= 2;
    } else if (whole) {
        m->idle = m->rest = 2 * m->rest + 1 < LONGEST_REST ? 2 * m->rest + 1 : LONGEST_REST;
    }
}

/* Eight rays: together as far as that pays, then one by one. */
static void cast_eight(const tree *t, const job *j, const bundled *rays, temper *m, int32_t *previous) {
    const hit nothing = {INFINITY, {0, 0, 0}, INT32_MAX};
    bundle b;
    int whole = !m->idle && make_bundle(t, rays, &b), found = whole && find_hits(t, rays, &b, j->any);
    learn(m, whole, found);
    for (int lane = 0; lane < WIDTH; lane++) {
        if (found || (j->any && whole && b.best[lane].face < INT32_MAX)) {
            note_hit(j, rays->row[lane], &b.best[lane]);
        } else {
            cast_alone(t, j, rays->row[lane], previous, whole ? b.best[lane] : nothing);
        }
    }
}

/* First hit (or, with any, some hit) of rays order[0 .. k); directions of any length but zero; limits in length, one a
   ray or, with limit_step 0, one for all. */
VISIBLE void NAME(rays)(const tree *t, int64_t k, const uint32_t *order, const double *origins,
                        const double *directions, const double *limits, int64_t limit_step, int32_t any,
                        double *distance, int32_t *face, double *weights) {
    const job j = {origins, directions, limits, limit_step, distance, weights, face, any};
    const hit nothing = {INFINITY, {0, 0, 0}, INT32_MAX};
    bundled rays = {origins, directions, limits, limit_step, {0}};
    temper m = {0, 0};
    int32_t previous = -1;
    int64_t i = 0;
    for (; i + WIDTH <= k; i += WIDTH) {
        for (int lane = 0; lane < WIDTH; lane++) {
            rays.row[lane] = order[i + lane];
            fetch_ray(&j, order[i + lane + WIDTH < k ? i + lane + WIDTH : i]);
        }
        cast_eight(t, &j, &rays, &m, &previous);
    }
    for (; i < k; i++) {
        cast_alone(t, &j, order[i], &previous, nothing);
    }
}
