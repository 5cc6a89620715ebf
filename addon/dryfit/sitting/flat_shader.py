"""A shader for plain surfaces, lit from the eye."""

from functools import lru_cache
from typing import Any

import gpu

VERTEX = """
void main()
{
  place = position;
  gl_Position = view_to_clip * vec4(position, 1.0);
}
"""
FRAGMENT = """
void main()
{
  vec3 normal = normalize(cross(dFdx(place), dFdy(place)));
  float lit = 0.30 + 0.70 * abs(dot(normal, eye.xyz));
  vec3 flesh = gl_FrontFacing ? colour.rgb : colour.rgb * vec3(0.42, 0.24, 0.22);
  painted = vec4(pow(flesh * lit, vec3(2.2)), 1.0);  // the viewport takes linear light
}
"""


@lru_cache(maxsize=1)
def solid_shader() -> Any:
    """Return the shader, compiled once; its input is ``position``."""
    between = gpu.types.GPUStageInterfaceInfo("dryfit_solid")
    between.smooth("VEC3", "place")
    info = gpu.types.GPUShaderCreateInfo()
    info.push_constant("MAT4", "view_to_clip")
    info.push_constant("VEC4", "eye")
    info.push_constant("VEC4", "colour")
    info.vertex_in(0, "VEC3", "position")
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "painted")
    info.vertex_source(VERTEX)
    info.fragment_source(FRAGMENT)
    return gpu.shader.create_from_info(info)


def forget_solid_shader() -> None:
    """Let go of the compiled shader."""
    solid_shader.cache_clear()
