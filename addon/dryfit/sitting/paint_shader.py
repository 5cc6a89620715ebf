"""The shader that paints values on a surface: a colour scale, contour lines and a bold line at the limit.

With ``scale.z`` set it draws only what is below the limit, hatched: for parts hidden beneath the base. The viewport
takes linear light and the scale is in the screen's own colours, so they are turned into it at the end: paint and legend
are of one colour.
"""

from functools import lru_cache
from typing import Any

import gpu

from ..model.scale_colours import DIVERGING, PLAIN, Colour
from ..rooms.kinds import COLOURS

KINDS = tuple((int(one[:2], 16) / 255, int(one[2:4], 16) / 255, int(one[4:], 16) / 255) for one in COLOURS)
"""The colours of what is told in kinds, not on a scale."""

VERTEX = """
void main()
{
  place = position;
  shown = value;
  kind = value.x;
  gl_Position = view_to_clip * vec4(position, 1.0);
  gl_Position.z -= nearer * gl_Position.w;
}
"""
FRAGMENT = """
vec3 on_scale(float share)
{
  float at = clamp(share, 0.0, 1.0) * 16.0;
  vec3 low[17] = vec3[17](%(plain)s);
  vec3 two[17] = vec3[17](%(diverging)s);
  int lower = int(min(floor(at), 15.0));
  float part = at - float(lower);
  return (scale.w > 0.5) ? mix(two[lower], two[lower + 1], part) : mix(low[lower], low[lower + 1], part);
}

vec3 of_kind(float number)
{
  vec3 kinds[%(count)d] = vec3[%(count)d](%(kinds)s);
  return kinds[int(clamp(number + 0.5, 0.0, %(count)d.0 - 0.5))];
}

/* The slope is that of the value itself: the distance to the nearest ring jumps half way between two of them. */
float line(float at, float slope, float width)
{
  return 1.0 - smoothstep(width - 0.5, width + 0.5, abs(at) / max(slope, 1e-9));
}

/* Where the value hardly changes from pixel to pixel, or leaps as it does along folds seen from afar, a contour is
   noise: it fades before it breaks up. */
float steep(float slope, float least)
{
  float share = slope / (scale.y - scale.x);
  return smoothstep(least, 5.0 * least, share) * (1.0 - smoothstep(0.05, 0.12, share));
}

void main()
{
  float value = shown.x;
  float slope = fwidth(value);
  vec3 normal = normalize(cross(dFdx(place), dFdy(place)));
  if (shown.y < 0.999) {
    discard;
  }
  if (scale.z > 0.5) {
    /* From behind, what lies under the skin is hidden by the whole head. */
    bool away = gl_FrontFacing != (turned > 0.0);
    if (away || limit.y < 0.5 || value > limit.x || mod(gl_FragCoord.x + gl_FragCoord.y, 9.0) > 5.0) {
      discard;
    }
  }
  float low = scale.x;
  float high = scale.y;
  float about_zero = 0.5 + 0.5 * ((value > 0.0) ? value / max(high, 1e-12) : value / max(-low, 1e-12));
  vec3 colour = on_scale((scale.w > 0.5) ? about_zero : (value - low) / (high - low));
  float step_ = (high - low) / 10.0;
  float ring = (fract((value - low) / step_ + 0.5) - 0.5) * step_;
  bool beyond = value > high || value < low;
  colour = mix(colour, colour * 0.72, beyond ? 0.0 : 0.7 * line(ring, slope, 0.5) * steep(slope, 2e-4));
  if (limit.y > 0.5) {
    colour = mix(colour, vec3(0.04), line(value - limit.x, slope, 1.4) * steep(slope, 3e-5));
  }
  if (scale.w > 1.5) {
    colour = of_kind(kind);
  }
  float lit = 0.62 + 0.38 * abs(dot(normal, eye.xyz));
  painted = vec4(pow(colour * lit, vec3(2.2)), eye.w);
}
"""


def _stops(colours: tuple[Colour, ...]) -> str:
    return ", ".join(f"vec3({red:.3f}, {green:.3f}, {blue:.3f})" for red, green, blue in colours)


@lru_cache(maxsize=1)
def paint_shader() -> Any:
    """Return the shader, compiled once.

    Inputs are ``position`` (Blender units, object space) and ``value`` (the figure; 1 where it was measured).
    """
    between = gpu.types.GPUStageInterfaceInfo("dryfit_painted")
    between.smooth("VEC3", "place")
    between.smooth("VEC2", "shown")
    between.flat("FLOAT", "kind")
    info = gpu.types.GPUShaderCreateInfo()
    info.push_constant("MAT4", "view_to_clip")
    info.push_constant("VEC4", "scale")
    info.push_constant("VEC4", "eye")
    info.push_constant("VEC2", "limit")
    info.push_constant("FLOAT", "nearer")
    info.push_constant("FLOAT", "turned")
    info.vertex_in(0, "VEC3", "position")
    info.vertex_in(1, "VEC2", "value")
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "painted")
    info.vertex_source(VERTEX)
    words = {"plain": _stops(PLAIN), "diverging": _stops(DIVERGING), "kinds": _stops(KINDS), "count": len(KINDS)}
    info.fragment_source(FRAGMENT % words)
    return gpu.shader.create_from_info(info)


def forget_shader() -> None:
    """Let go of the compiled shader."""
    paint_shader.cache_clear()
