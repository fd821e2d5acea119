import {
  BufferGeometry,
  CustomBlending,
  Float32BufferAttribute,
  GLSL3,
  type Material,
  Mesh,
  OneFactor,
  OneMinusSrcAlphaFactor,
  RawShaderMaterial,
  Vector2,
  Vector4,
} from 'three';
import { type PanelLayout, planPanel } from '../../server/core/picture/swatch.ts';
import { showGloss } from './change-shaders.ts';
import { drawRuler } from './draw-ruler.ts';
import { calibrate } from './grey-card.ts';
import type { Rig, StudioScene } from './studio-scene.ts';
import type { SwatchShape } from './swatch-shape.ts';

/**
 * Seen square on without perspective, the shading is even and edges are on whole pixels. Subsamples only smooth the
 * pattern, and mipmaps already do that.
 */
const SUBSAMPLES = 4;

const RIG: Rig = { light: 'studio', elevationDegrees: 0 };
const METAL_RIG: Rig = { light: 'screen', elevationDegrees: 0 };

/**
 * A flat piece at true scale, upright and square to the camera like the grey card. A matt finish therefore shows its
 * own value. The key light falls from the upper left, which shows relief. A band along the upper edge shows the gloss
 * (`addGlossBand`). Pattern and ruler begin at the left edge. Its scale is exact to the pixel: `PanelLayout.pxPerMm`.
 */
export function createPanel(studio: StudioScene): SwatchShape {
  for (const rig of [RIG, METAL_RIG]) calibrate(studio, rig);
  const mesh = new Mesh(new BufferGeometry());
  mesh.frustumCulled = false;
  const shadow = createBoardShadow();
  let layout: PanelLayout = planPanel(1, 1);
  return {
    mesh,
    open: true,
    twoSided: false,
    getSubsamples: () => SUBSAMPLES,
    pose({ sizePx, widthMm, flat, metal }) {
      layout = planPanel(sizePx, widthMm);
      const { left, top, widthPx, heightPx, rulerPx, glossPx, pxPerMm } = layout;
      mesh.geometry.dispose();
      mesh.geometry = createPiece(widthPx / pxPerMm / 1000, heightPx / pxPerMm / 1000);
      const metres = 1 / pxPerMm / 1000;
      studio.useRig(metal ? METAL_RIG : RIG);
      studio.turntable.rotation.y = 0;
      studio.frameSquare({ left: -left * metres, top: top * metres, side: sizePx * metres });
      if (!flat) showGloss(mesh.material as Material, { fromM: top * metres, toM: (top + glossPx) * metres });
      shadow.place([left, top, left + widthPx, top + heightPx + rulerPx], sizePx);
      studio.show(flat ? [mesh] : [shadow.mesh, mesh]);
      studio.light.open();
      studio.catcher.place(null);
    },
    finish: (rgba) => drawRuler(rgba, layout),
  };
}

/** In metres: its top left corner at the origin, 1 UV = 1 m, u to the right and v downwards as in glTF. */
function createPiece(width: number, height: number): BufferGeometry {
  const geometry = new BufferGeometry();
  const corners = [0, -height, 0, width, -height, 0, width, 0, 0, 0, 0, 0];
  geometry.setAttribute('position', new Float32BufferAttribute(corners, 3));
  geometry.setAttribute('normal', new Float32BufferAttribute([0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1], 3));
  geometry.setAttribute('uv', new Float32BufferAttribute([0, height, width, height, width, 0, 0, 0], 2));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  return geometry;
}

const VERTEX = /* glsl */ `
precision highp float;
in vec3 position;
void main() {
  // as far away as possible: transparent parts are drawn after solid ones, and must not darken the board
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
  // the frame's edge stays empty
  vec2 edge = smoothstep( vec2( 0.0 ), vec2( 0.03 ), min( gl_FragCoord.xy, size - gl_FragCoord.xy ) / size );
  result = vec4( 0.0, 0.0, 0.0, dark * share.x * share.y * edge.x * edge.y );
}
`;

/** Darkest coverage, in the picture's encoding. */
const DARK = 0.42;

/** Width of the soft edge, and the distance of the shadow away from the key light, as shares of the picture's side. */
const BLUR = 0.018;
const FALL = [0.006, 0.01] as const;

interface BoardShadow {
  readonly mesh: Mesh;
  /** @param board left, top, right, bottom in pixels from the top left corner of a square picture */
  place(board: readonly [number, number, number, number], sizePx: number): void;
}

/** The soft shadow of a board on the floor, seen from straight above. Like all shadows here, it is coverage only. */
function createBoardShadow(): BoardShadow {
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
    place(board, sizePx) {
      uniforms.board.value.set(...board);
      uniforms.size.value.set(sizePx, sizePx);
      uniforms.fall.value.set(FALL[0] * sizePx, FALL[1] * sizePx);
      uniforms.blur.value = BLUR * sizePx;
    },
  };
}
