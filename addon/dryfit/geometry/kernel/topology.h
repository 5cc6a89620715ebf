/* How faces hang together. */

#pragma once

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* A side is 3 f + e: edge e of face f, from corner e to the next. */
INLINE int64_t next_side(int64_t s) { return s % 3 == 2 ? s - 2 : s + 1; }

INLINE int32_t low_end(const int32_t *faces, int64_t s) {
    int32_t a = faces[s], b = faces[next_side(s)];
    return a < b ? a : b;
}

INLINE int32_t high_end(const int32_t *faces, int64_t s) {
    int32_t a = faces[s], b = faces[next_side(s)];
    return a < b ? b : a;
}

/* A hash of a position; both zeros are one. */
static uint64_t position_hash(const double *p) {
    const double positive[3] = {p[0] + 0.0, p[1] + 0.0, p[2] + 0.0};
    uint64_t word[3];
    memcpy(word, positive, sizeof word);
    uint64_t h = (word[0] * 0x9e3779b97f4a7c15ull ^ word[1]) * 0xbf58476d1ce4e5b9ull;
    h = ((h ^ h >> 29) + word[2]) * 0x94d049bb133111ebull;
    return h ^ h >> 32;
}

/* label[i]: the first vertex at the very position of vertex i. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(weld)(const double *vertices, int64_t n, int32_t *label) {
    uint64_t room = 16;
    while (room < (uint64_t)n * 2) {
        room *= 2;
    }
    int32_t *slot = malloc(room * sizeof *slot);
    if (!slot) {
        return -1;
    }
    memset(slot, 0xff, room * sizeof *slot);
    for (int64_t i = 0; i < n; i++) {
        const double *p = vertices + 3 * i;
        uint64_t h = position_hash(p) & (room - 1);
        for (; slot[h] >= 0; h = (h + 1) & (room - 1)) {
            const double *q = vertices + 3 * (int64_t)slot[h];
            if (p[0] == q[0] && p[1] == q[1] && p[2] == q[2]) {
                break;
            }
        }
        if (slot[h] < 0) {
            slot[h] = (int32_t)i;
        }
        label[i] = slot[h];
    }
    free(slot);
    return 0;
}

/* Of sides that begin at one vertex: the one other with the high end of sides[i]; -1 for none, -2 for several. */
static int32_t mate_of(const int32_t *faces, const int32_t *sides, int64_t count, int64_t i) {
    int32_t high = high_end(faces, sides[i]), other = -1, mates = 0;
    for (int64_t j = 0; j < count; j++) {
        if (j != i && high_end(faces, sides[j]) == high) {
            other = sides[j];
            mates++;
        }
    }
    return mates > 1 ? -2 : other;
}

/* List the sides by their low end, those of vertex v from start[v] to start[v + 1]; sides marked -3 are passed over. */
static void list_sides(const int32_t *faces, int64_t m, int64_t n, const int32_t *neighbour, int64_t *start,
                       int32_t *sides) {
    for (int64_t s = 0; s < 3 * m; s++) {
        if (neighbour[s] == -1) {
            start[low_end(faces, s) + 2]++;
        }
    }
    for (int64_t i = 0; i < n; i++) {
        start[i + 2] += start[i + 1];
    }
    for (int64_t s = 0; s < 3 * m; s++) {
        if (neighbour[s] == -1) {
            sides[start[low_end(faces, s) + 1]++] = (int32_t)s;
        }
    }
}

/* neighbour[3 f + e]: 3 g + e' of the one other side of edge e (corner e to the next) of face f; -1 on an open border,
   -2 where three or more faces meet, -3 on faces with a repeated corner, which are passed over. Returns 0, or -1 out of
   memory. */
VISIBLE int32_t NAME(neighbours)(const int32_t *faces, int64_t m, int64_t n, int32_t *neighbour) {
    int64_t *start = calloc((size_t)n + 2, sizeof *start);
    int32_t *sides = malloc((size_t)m * 3 * sizeof *sides + 1);
    if (!start || !sides) {
        free(start);
        free(sides);
        return -1;
    }
    for (int64_t s = 0; s < 3 * m; s++) {
        const int32_t *f = faces + s / 3 * 3;
        neighbour[s] = f[0] == f[1] || f[1] == f[2] || f[2] == f[0] ? -3 : -1;
    }
    list_sides(faces, m, n, neighbour, start, sides);
    for (int64_t v = 0; v < n; v++) {
        for (int64_t i = start[v]; i < start[v + 1]; i++) {
            neighbour[sides[i]] = mate_of(faces, sides + start[v], start[v + 1] - start[v], i - start[v]);
        }
    }
    free(start);
    free(sides);
    return 0;
}

/* Go from a seed over all faces of its part, numbering them and turning them its way. Returns 1 where that is not
   possible, else 0. */
static uint8_t turn_part(const int32_t *faces, const int32_t *neighbour, int32_t seed, int32_t part, int32_t *queue,
                         int32_t *piece, int8_t *turn) {
    int64_t head = 0, tail = 1;
    uint8_t seam = 0;
    queue[0] = seed;
    piece[seed] = part;
    turn[seed] = 1;
    while (head < tail) {
        int32_t f = queue[head++];
        for (int64_t s = 3 * (int64_t)f; s < 3 * (int64_t)f + 3; s++) {
            if (neighbour[s] < 0) {
                continue;
            }
            int32_t g = neighbour[s] / 3;
            int8_t wanted = (int8_t)(faces[s] == faces[neighbour[s]] ? -turn[f] : turn[f]);
            if (piece[g] < 0) {
                piece[g] = part;
                turn[g] = wanted;
                queue[tail++] = g;
            } else if (turn[g] != wanted) {
                seam = 1;
            }
        }
    }
    return seam;
}

/* piece[f] numbers the parts joined over edges; turn[f] is -1 where f runs against the first face of its part.
   seam[p] is 1 where part p cannot be turned consistently (a Moebius band). Returns the number of parts or -1. */
VISIBLE int32_t NAME(orient)(const int32_t *faces, const int32_t *neighbour, int64_t m, int32_t *piece, int8_t *turn,
                             uint8_t *seam) {
    int32_t *queue = malloc((size_t)m * sizeof *queue + 1), pieces = 0;
    if (!queue) {
        return -1;
    }
    for (int64_t f = 0; f < m; f++) {
        piece[f] = -1;
    }
    for (int32_t seed = 0; seed < m; seed++) {
        if (piece[seed] < 0) {
            seam[pieces] = turn_part(faces, neighbour, seed, pieces, queue, piece, turn);
            pieces++;
        }
    }
    free(queue);
    return pieces;
}
