import {
  BufferGeometry,
  CustomBlending,
  Float32BufferAttribute,
  GLSL3,
  Mesh,
  OneFactor,
  OneMinusSrcAlphaFactor,
  RawShaderMaterial,
  Vector2,
  Vector4,
} from 'three';

const VERTEX = /* glsl */ `
precision highp float;
in vec3 position;
void main() {
  // as far away as can be: what is see-through is drawn after what is solid, and must not darken the board
  gl_Position = vec4( position.xy, 1.0, 1.0 );
}
`;

/** A rectangle blurred by a Gaussian is a product of two differences of error functions (Abramowitz, Stegun 7.1.26). */
const FRAGMENT = /* glsl */ `
precision highp float;
uniform vec4 board;
uniform vec2 size;
uniform vec2 fall;
uniform float blur;
uniform float dark;
out vec4 result;
vec2 error( vec2 x ) {
  vec2 t = 1.0 / ( 1.0 + 0.3275911 * abs( x ) );
  vec2 series = t * ( 0.254829592 + t * ( -0.284496736 + t * ( 1.421413741 + t * ( -1.453152027 + t * 1.061405429 ) ) ) );
  return sign( x ) * ( 1.0 - series * exp( -x * x ) );
}
void main() {
  vec2 place = vec2( gl_FragCoord.x, size.y - gl_FragCoord.y ) - fall;
  vec2 share = 0.5 * ( error( ( place - board.xy ) / blur ) - error( ( place - board.zw ) / blur ) );
  // the frame's edge is never cut
  vec2 edge = smoothstep( vec2( 0.0 ), vec2( 0.03 ), min( gl_FragCoord.xy, size - gl_FragCoord.xy ) / size );
  result = vec4( 0.0, 0.0, 0.0, dark * share.x * share.y * edge.x * edge.y );
}
`;

/** How dark, where it is darkest, in the picture's encoding. */
const DARK = 0.42;

/** Width of the soft edge and how far it falls away from the key light, as shares of the picture's side. */
const BLUR = 0.018;
const FALL = [0.006, 0.01] as const;

export interface BoardShadow {
  readonly mesh: Mesh;
  /** `board`: left, top, right, bottom in pixels from the left top corner of a square picture. */
  lay(board: readonly [number, number, number, number], sizePx: number): void;
}

/** The soft shadow of a board that lies on the ground, seen from straight above: coverage only, as all shadows here. */
export function createBoardShadow(): BoardShadow {
  const uniforms = {
    board: { value: new Vector4() },
    size: { value: new Vector2() },
    fall: { value: new Vector2() },
    blur: { value: 1 },
    dark: { value: DARK },
  };
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new Float32BufferAttribute([-1, -1, 0, 3, -1, 0, -1, 3, 0], 3));
  const material = new RawShaderMaterial({
    glslVersion: GLSL3,
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    uniforms,
    transparent: true,
    depthWrite: false,
    blending: CustomBlending,
    blendSrc: OneFactor,
    blendDst: OneMinusSrcAlphaFactor,
  });
  const mesh = new Mesh(geometry, material);
  mesh.frustumCulled = false;
  mesh.renderOrder = -1;
  return {
    mesh,
    lay(board, sizePx) {
      uniforms.board.value.set(...board);
      uniforms.size.value.set(sizePx, sizePx);
      uniforms.fall.value.set(FALL[0] * sizePx, FALL[1] * sizePx);
      uniforms.blur.value = BLUR * sizePx;
    },
  };
}
