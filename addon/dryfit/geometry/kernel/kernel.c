/* Closest points, ray hits, crossing faces, winding numbers, distances along a triangle mesh,
   and points that ride one.

   One tree serves all: eight children a node, eight triangles a leaf, chosen by a binned surface-area heuristic
   (Wald 2007). Boxes and leaf triangles are single precision, centred and scaled to the unit ball; every cull
   carries a margin derived from the coordinates' magnitude, and whatever survives is tested again in double precision
   on the caller's own vertices. So an answer never depends on the tree, on the order of the queries, or on the bound
   a query starts from: the nearest face wins, the lowest face number among equals.

   No threads, no global state; the caller's arrays must outlive the index that was built on them.

   This is the one file that is compiled, once for every level of processor: AVX2 where LEVEL_AVX2 is defined, else the
   baseline. The caller asks dryfit_has_avx2() which level to use. What functions are marked with stands here; each part
   below is one subject, and includes what it builds on. */

#if defined(_WIN32)
#define VISIBLE __declspec(dllexport)
#else
#define VISIBLE __attribute__((visibility("default")))
#endif
#if defined(LEVEL_AVX2)
#define NAME(name) dryfit_avx2_##name
#else
#define NAME(name) dryfit_base_##name
#endif
#define INLINE static inline __attribute__((always_inline))

#include "build.h"
#include "bundles.h"
#include "crossings.h"
#include "flat.h"
#include "march.h"
#include "nearest.h"
#include "order.h"
#include "rays.h"
#include "riding.h"
#include "sides.h"
#include "topology.h"
#include "winding.h"

#if !defined(LEVEL_AVX2)
#include "processor.h"

/* Changes whenever a signature does: a stale binary is recognised and left alone. */
VISIBLE int32_t dryfit_interface(void) { return 3; }
#endif

#undef VISIBLE
#undef NAME
#undef INLINE
