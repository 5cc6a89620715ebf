/* Boxes, frames and leaves from the vertices, wherever these are. */

#pragma once

#include "tree.h"

/* Choose centre and a power-of-two scale that bring the faces' corners into the unit ball. */
static void frame(tree *t) {
    span all = NOWHERE;
    for (int64_t i = 0; i < 3 * t->face_count; i++) {
        stretch(&all, at(t->vertices, t->faces[i]));
    }
    t->centre = times(plus(all.low, all.high), 0.5);
    int exponent = 0;
    frexp(norm(minus(all.high, all.low)) * 0.5, &exponent);
    t->scale = ldexp(1.0, -exponent);
}

static void set_lane(float rows[][WIDTH], int lane, f4 v) {
    for (int i = 0; i < 3; i++) {
        rows[i][lane] = v[i];
    }
}

/* Fill a leaf's lanes from the vertices and return its box; unused lanes lie at infinity. */
static bounds fill_leaf(const tree *t, leaf *l) {
    bounds box = NOTHING;
    for (int i = 0; i < WIDTH; i++) {
        vec a = {1e18, 1e18, 1e18}, ab = {0, 0, 0}, ac = ab;
        if (l->face[i] >= 0) {
            a = to_unit(t, corner_of(t, l->face[i], 0));
            vec b = to_unit(t, corner_of(t, l->face[i], 1)), c = to_unit(t, corner_of(t, l->face[i], 2));
            ab = minus(b, a);
            ac = minus(c, a);
            include(&box, narrowed(a));
            include(&box, narrowed(b));
            include(&box, narrowed(c));
        }
        set_lane(l->corner, i, narrowed(a));
        set_lane(l->ab, i, narrowed(ab));
        set_lane(l->ac, i, narrowed(ac));
    }
    return box;
}

/* Fill a leaf's normals and add them to a sum, by twice the area. */
static void fill_normals(const tree *t, leaf *l, vec *sum) {
    for (int i = 0; i < WIDTH; i++) {
        vec n = {0, 0, 0};
        if (l->face[i] >= 0) {
            vec a = to_unit(t, corner_of(t, l->face[i], 0)), b = to_unit(t, corner_of(t, l->face[i], 1));
            n = cross(minus(b, a), minus(to_unit(t, corner_of(t, l->face[i], 2)), a));
            *sum = plus(*sum, n);
        }
        set_lane(l->normal, i, narrowed(unit(n)));
    }
}

/* Third axis along n; the first in the plane of the world axis least along it, so that splits along world axes stay
   aligned. */
static void set_frame(node *node, vec n) {
    n = norm(n) > 0 ? unit(n) : (vec){0, 0, 1};
    double x = fabs(n.x), y = fabs(n.y), z = fabs(n.z);
    vec aside = x <= y && x <= z ? (vec){1, 0, 0} : y <= z ? (vec){0, 1, 0} : (vec){0, 0, 1};
    vec t = unit(minus(aside, times(n, dot(aside, n)))), u = cross(n, t);
    const f4 axes[3] = {narrowed(t), narrowed(u), narrowed(n)};
    for (int i = 0; i < 9; i++) {
        node->frame[i / 3][i % 3] = axes[i / 3][i % 3];
    }
}

/* Widen low and high to hold a leaf's triangles in a frame, eight at a time. */
INLINE void tilt_leaf(const leaf *l, const float frame[3][3], f8 low[3], f8 high[3]) {
    f8 a[3], b[3], c[3];
    for (int k = 0; k < 3; k++) {
        a[k] = load8(l->corner[k]);
        b[k] = a[k] + load8(l->ab[k]);
        c[k] = a[k] + load8(l->ac[k]);
    }
    const i8 used = whole8(l->face) >= 0;
    for (int k = 0; k < 3; k++) {
        const f8 axis[3] = {all8(frame[k][0]), all8(frame[k][1]), all8(frame[k][2])};
        f8 x = dot8(axis, a), y = dot8(axis, b), z = dot8(axis, c);
        low[k] = choose8(used, min8(low[k], min8(x, min8(y, z))), low[k]);
        high[k] = choose8(used, max8(high[k], max8(x, max8(y, z))), high[k]);
    }
}

/* Box in a frame around all triangles below a child: as tight as can be, which a box around boxes is not. */
static void tilt(const tree *t, int32_t child, const float frame[3][3], f8 low[3], f8 high[3]) {
    if (child < 0) {
        tilt_leaf(&t->leaves[~child], frame, low, high);
        return;
    }
    const node *n = &t->nodes[child];
    for (int i = 0; i < WIDTH; i++) {
        if (n->child[i]) {
            tilt(t, n->child[i], frame, low, high);
        }
    }
}

/* Recompute a node's boxes along the world's axes, and the leaves below it; children stand already. */
static void set_boxes(const tree *t, node *n) {
    for (int k = 0; k < WIDTH; k++) {
        int32_t child = n->child[k];
        bounds box = child > 0 ? box_of(&t->nodes[child]) : child < 0 ? fill_leaf(t, &t->leaves[~child]) : NOTHING;
        set_lane(n->box, k, box.low);
        set_lane(n->box + 3, k, box.high);
    }
}

/* The sum of the normals of a node's faces; that of its children stands already. */
static vec sum_normals(const tree *t, const node *n, const vec *normals) {
    vec normal = {0, 0, 0};
    for (int k = 0; k < WIDTH; k++) {
        int32_t child = n->child[k];
        if (child > 0) {
            normal = plus(normal, normals[child]);
        }
        if (child < 0) {
            fill_normals(t, &t->leaves[~child], &normal);
        }
    }
    return normal;
}

/* Recompute a node's boxes along its own frame. */
static void set_tilted(const tree *t, node *n) {
    for (int k = 0; k < WIDTH; k++) {
        f8 low[3] = {all8(INFINITY), all8(INFINITY), all8(INFINITY)};
        f8 high[3] = {all8(-INFINITY), all8(-INFINITY), all8(-INFINITY)};
        if (n->child[k]) {
            tilt(t, n->child[k], n->frame, low, high);
        }
        for (int axis = 0; axis < 3; axis++) {
            n->tilted[axis][k] = least8(low[axis]);
            n->tilted[3 + axis][k] = most8(high[axis]);
        }
    }
}

/* Recompute every box and leaf from the vertices, children before parents. Only what closest points need is left: see
   lean(). */
VISIBLE void NAME(refit)(tree *t, const double *vertices) {
    t->vertices = vertices;
    frame(t);
    for (int64_t i = t->node_count - 1; i >= 0; i--) {
        set_boxes(t, &t->nodes[i]);
    }
}

/* Work out what closest points alone need: frames, the boxes along them, and normals. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(lean)(tree *t) {
    vec *normals = malloc((size_t)t->node_count * sizeof *normals);
    if (!normals) {
        return -1;
    }
    for (int64_t i = t->node_count - 1; i >= 0; i--) {
        node *n = &t->nodes[i];
        normals[i] = sum_normals(t, n, normals);
        set_frame(n, normals[i]);
        set_tilted(t, n);
    }
    free(normals);
    return 0;
}
