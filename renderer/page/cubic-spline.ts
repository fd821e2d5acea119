/**
 * GLSL: reads a mipmap by a uniform cubic B-spline, which is smooth where linear reading shows facets. Four linear reads do
 * for its sixteen texels (Sigg and Hadwiger, GPU Gems 2, chapter 20).
 */
export const CUBIC_SPLINE = /* glsl */ `
vec4 readSpline( sampler2D map, vec2 place, int level ) {
  vec2 size = vec2( textureSize( map, level ) );
  vec2 at = place * size - 0.5;
  vec2 t = fract( at );
  vec2 s = 1.0 - t;
  vec2 w0 = s * s * s / 6.0;
  vec2 w1 = 2.0 / 3.0 - 0.5 * t * t * ( 2.0 - t );
  vec2 w3 = t * t * t / 6.0;
  vec2 low = w0 + w1;
  vec2 high = 1.0 - low;
  vec2 from = ( floor( at ) - 0.5 + w1 / low ) / size;
  vec2 to = ( floor( at ) + 1.5 + w3 / high ) / size;
  float lod = float( level );
  return low.y * ( low.x * textureLod( map, from, lod ) + high.x * textureLod( map, vec2( to.x, from.y ), lod ) )
    + high.y * ( low.x * textureLod( map, vec2( from.x, to.y ), lod ) + high.x * textureLod( map, to, lod ) );
}
`;
