/* Down the tree, the nearest child first: what closest points and rays share. */

#pragma once

#include "tree.h"

/* Queries that memory is asked for ahead of their turn. */
enum { AHEAD = 6 };

/* A child not looked into yet, and where it begins: a squared distance, or a length along a ray. */
typedef struct {
    float key;
    int32_t child;
} waiting;

/* Push the marked children but the nearest, which is returned. The first descent makes the bound good enough that the
   order of the others does not pay for sorting them. */
INLINE waiting nearest_first(waiting *stack, int *top, const int32_t *child, f8 keys, int marked) {
    int i = lowest_bit(marked), last = *top;
    waiting nearest = {keys[i], child[i]};
    float key[WIDTH];
    marked &= marked - 1;
    if (!marked) {
        return nearest;
    }
    memcpy(key, &keys, sizeof key);
    for (int left = marked; left; left &= left - 1) {
        int other = lowest_bit(left);
        const waiting next = {key[other], child[other]};
        int nearer = next.key < nearest.key;
        stack[last++] = nearer ? nearest : next;
        nearest = nearer ? next : nearest;
    }
    *top = last;
    return nearest;
}

/* Take the last pushed of those within the limit; 0 where none is left. */
INLINE int take(const waiting *stack, int *top, float limit, waiting *next) {
    while (*top) {
        *next = stack[--*top];
        if (!(next->key > limit)) {
            return 1;
        }
    }
    return 0;
}

/* A length as the tree has it, rounded up and with a margin. */
INLINE float reach(const tree *t, double length, float margin) {
    double scaled = length * t->scale;
    return scaled < 1e15 ? (float)scaled * 1.000001f + margin : 1e15f;
}
