/* Triangles laid flat: the length of the first edge, and where the third corner is along and above it.

   The sums are those of the numpy twin, in its order, so that both give the same bits. */

#pragma once

#include <math.h>
#include <stdint.h>

#include "vectors.h"

VISIBLE void NAME(lay_flat)(const double *vertices, const int32_t *faces, int64_t m, double *base, double *along,
                            double *height) {
    for (int64_t f = 0; f < m; f++) {
        vec start = at(vertices, faces[3 * f]);
        vec edge = minus(at(vertices, faces[3 * f + 1]), start);
        vec other = minus(at(vertices, faces[3 * f + 2]), start);
        double length = norm(edge), safe = length > 0 ? length : 1;
        base[f] = length;
        along[f] = (edge.x * other.x + edge.z * other.z + edge.y * other.y) / safe;
        height[f] = norm(minus(other, times(edge, along[f] / safe)));
    }
}
