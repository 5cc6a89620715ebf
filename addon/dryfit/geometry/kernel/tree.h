/* The tree: what nodes and leaves hold, and the way between the caller's millimetres and its unit ball. */

#pragma once

#include <stdlib.h>

#include "vectors.h"

enum { WIDTH = 8, STACK = 8 * 64 };

/* Of the unit ball: rounding of box, point and arithmetic, with room to spare. */
static const float MARGIN = 32.0f * 0x1p-24f;

/* child: 0 none, > 0 node, < 0 leaf ~child. box along the world's axes, for rays; tilted along the node's own frame,
   whose third axis is its mean normal: thin where the surface is flat, so a closest point looks into few leaves. Those,
   and the normals of a leaf, stand only after lean(). */
typedef struct {
    float box[6][WIDTH];
    int32_t child[WIDTH];
    float tilted[6][WIDTH], frame[3][3];
} node;

typedef struct {
    int32_t face[WIDTH];
    float corner[3][WIDTH], ab[3][WIDTH], ac[3][WIDTH], normal[3][WIDTH];
} leaf;

/* A dipole for winding numbers: all that lies below a node, seen from afar. */
typedef struct {
    vec centre, normal;
    double area, radius;
} moment;

typedef struct {
    const double *vertices;
    const int32_t *faces;
    int64_t face_count, node_count, leaf_count, node_room, leaf_room;
    vec centre;
    double scale;
    node *nodes;
    leaf *leaves;
    moment *moments;
} tree;

INLINE vec corner_of(const tree *t, int32_t face, int i) { return at(t->vertices, t->faces[3 * (int64_t)face + i]); }

/* A face's corners as seen from p. */
INLINE void corners_of(const tree *t, int32_t face, vec p, vec corner[3]) {
    for (int i = 0; i < 3; i++) {
        corner[i] = minus(corner_of(t, face, i), p);
    }
}

INLINE vec to_unit(const tree *t, vec p) { return times(minus(p, t->centre), t->scale); }

INLINE vec from_unit(const tree *t, f4 p) { return plus(times(widened(p), 1 / t->scale), t->centre); }

/* The box around a node's children. */
static bounds box_of(const node *n) {
    bounds all = NOTHING;
    for (int i = 0; i < WIDTH && n->child[i]; i++) {
        include(&all, (f4){n->box[0][i], n->box[1][i], n->box[2][i], 0});
        include(&all, (f4){n->box[3][i], n->box[4][i], n->box[5][i], 0});
    }
    return all;
}

/* Free a tree; NULL is one too. */
VISIBLE void NAME(release)(tree *t) {
    if (!t) {
        return;
    }
    free(t->nodes);
    free(t->leaves);
    free(t->moments);
    free(t);
}
