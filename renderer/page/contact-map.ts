import {
  type Box3,
  Camera,
  DepthTexture,
  FloatType,
  HalfFloatType,
  LinearFilter,
  LinearMipmapNearestFilter,
  type Matrix4,
  NearestFilter,
  RedFormat,
  type Scene,
  UnsignedByteType,
  UnsignedShortType,
  Vector2,
  Vector3,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import type { Mount } from '../../server/core/picture/picture.ts';
import type { FloorPatch } from './floor-map.ts';
import { createFullscreenPass } from './targets.ts';

/**
 * GLSL: reads a mipmap by a uniform cubic B-spline, which is smooth where linear reading shows facets. Four linear reads cover
 * its sixteen texels (Sigg and Hadwiger, GPU Gems 2, chapter 20).
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

/**
 * Longer side of the map: on a stool a texel is 2 mm, on a sofa 8. With 512, a first picture of a stool takes a
 * twentieth longer.
 */
const LONG_PX = 384;

/** Sides are multiples of this, so every mipmap in use halves evenly. */
const STEP_PX = 32;

/** Directions that the floor looks into; each draws the product once. With 64, spokes show around a thin leg in raised levels. */
const DIRECTIONS = 96;

/** Directions that are drawn side by side before they are added up. */
const TILES = 8;
const COLUMNS = 4;

/**
 * The distance up to which a part darkens the floor, as a share of the geometric mean of the product's height and its
 * longest side. A frame has room for about half of that beside the product; the outer half is hardly visible.
 */
const REACH = 0.32;

/** Room for the rounding of depths below and above the product, as a share of its height. */
const SLACK = 1e-3;

/**
 * Adds up the hits of one page of directions, in four ranges of distance. A hit counts by its distance aside of the point:
 * fully at the point itself, not at all from `reach` on. Distances are blended on a scale of fourfold steps.
 */
const GATHER = /* glsl */ `
uniform highp sampler2D depth;
uniform sampler2D sum;
uniform float first;
uniform ivec2 tile;
uniform vec3 rays[${TILES}];
uniform float slack;
uniform float reach;
uniform float nearest;
out vec4 result;
void main() {
  ivec2 pixel = ivec2( gl_FragCoord.xy );
  vec4 hits = vec4( 0.0 );
  for ( int i = 0; i < ${TILES}; i ++ ) {
    float z = texelFetch( depth, pixel + tile * ivec2( i % ${COLUMNS}, i / ${COLUMNS} ), 0 ).r;
    float height = max( z * ( rays[ i ].z + 2.0 * slack ) - slack, 0.0 );
    float aside = height * rays[ i ].x / reach;
    if ( z >= 1.0 || aside >= 1.0 ) continue;
    float range = clamp( 0.5 * log2( max( height * rays[ i ].y / nearest, 1e-4 ) ), 0.0, 3.0 );
    float counts = 1.0 - aside * aside;
    hits += counts * counts * max( 1.0 - abs( range - vec4( 0.0, 1.0, 2.0, 3.0 ) ), 0.0 );
  }
  result = hits / ${DIRECTIONS}.0;
  if ( first == 0.0 ) result += texelFetch( sum, pixel, 0 );
}
`;

const COPY = /* glsl */ `
uniform sampler2D sum;
out vec4 result;
void main() {
  result = texelFetch( sum, ivec2( gl_FragCoord.xy ), 0 );
}
`;

/**
 * Joins the ranges. Hits at a distance are blurred by about a sixth of it, which is the spacing of the directions
 * there. Otherwise each direction would show as a faint copy of the product. Mipmaps do the blur, read by a spline so
 * that their cells do not show. The patch fades to zero at its edge.
 */
const JOIN = /* glsl */ `
uniform sampler2D ranges;
uniform vec2 border;
in vec2 place;
out vec4 result;
${CUBIC_SPLINE}
void main() {
  float dark = readSpline( ranges, place, 0 ).r + readSpline( ranges, place, 2 ).g
    + readSpline( ranges, place, 4 ).b + readSpline( ranges, place, 5 ).a;
  vec2 edge = smoothstep( vec2( 0.0 ), border, min( place, 1.0 - place ) );
  result = vec4( clamp( dark * edge.x * edge.y, 0.0, 1.0 ) );
}
`;

/** Texels away at which the first range of distance has its middle: a spline blurs by 0.64 texels. */
const NEAREST_TEXELS = 4;

/** The floor or wall that a product touches, and the reach of its shadow; in metres, before the turntable turns. */
export interface ContactPlan {
  readonly patch: FloorPatch;
  readonly heightM: number;
  readonly reachM: number;
}

/** Floor or wall beside a product; null when it hangs free. */
export function planContact(box: Box3, mount: Mount): ContactPlan | null {
  if (mount === 'ceiling') return null;
  const size = box.getSize(new Vector3());
  const centre = box.getCenter(new Vector3());
  const wall = mount === 'wall';
  const heightM = Math.max(wall ? size.z : size.y, 1e-6);
  const reachM = REACH * Math.sqrt(heightM * Math.max(size.x, size.y, size.z));
  const across = new Vector3(size.x / 2 + reachM, 0, 0);
  if (wall) {
    const along = new Vector3(0, size.y / 2 + reachM, 0);
    return { patch: { centre: centre.setZ(box.min.z), across, along, normal: new Vector3(0, 0, 1) }, heightM, reachM };
  }
  const along = new Vector3(0, 0, -size.z / 2 - reachM);
  return { patch: { centre: centre.setY(box.min.y), across, along, normal: new Vector3(0, 1, 0) }, heightM, reachM };
}

/**
 * Measures the share of the sky that the product hides from the floor: ambient occlusion weighted by cosine. The first
 * hit of a direction counts by its distance aside, s: (1 − s² / reach²)². It depends only on geometry, not on the light
 * or the turn of the product.
 */
interface ContactMapper {
  /** Red: the share lost, 0–1, over the patch; 0 all round its edge. */
  measure(plan: ContactPlan, casters: Scene): WebGLRenderTarget;
  dispose(): void;
}

export function createContactMapper(renderer: WebGLRenderer): ContactMapper {
  const depth = new DepthTexture(1, 1, UnsignedShortType);
  const page = createTarget({ format: RedFormat, type: UnsignedByteType, depthTexture: depth });
  let [sum, other] = [createTarget({ type: FloatType }), createTarget({ type: FloatType })];
  const ranges = createTarget({ type: HalfFloatType, generateMipmaps: true });
  ranges.texture.minFilter = LinearMipmapNearestFilter;
  ranges.texture.magFilter = LinearFilter;
  const map = createTarget({ format: RedFormat, type: HalfFloatType });
  map.texture.minFilter = map.texture.magFilter = LinearFilter;
  const gather = createFullscreenPass(GATHER, {
    depth: { value: depth },
    sum: { value: null },
    first: { value: 1 },
    tile: { value: [1, 1] },
    rays: { value: [] },
    slack: { value: 0 },
    reach: { value: 1 },
    nearest: { value: 1 },
  });
  const copy = createFullscreenPass(COPY, { sum: { value: null } });
  const join = createFullscreenPass(JOIN, { ranges: { value: ranges.texture }, border: { value: new Vector2() } });
  const camera = new Camera();
  const directions = listDirections();

  /** Draws the view of the floor into one direction: the part nearest to the floor wins. */
  function drawTile(plan: ContactPlan, casters: Scene, index: number, widthPx: number, heightPx: number): void {
    setOblique(camera.projectionMatrix, plan, directions[index]!);
    const tile = index % TILES;
    page.viewport.set((tile % COLUMNS) * widthPx, Math.floor(tile / COLUMNS) * heightPx, widthPx, heightPx);
    page.scissor.copy(page.viewport);
    renderer.setRenderTarget(page);
    renderer.render(casters, camera);
  }

  return {
    measure(plan, casters) {
      const { patch, heightM, reachM } = plan;
      const [width, height] = [patch.across.length() * 2, patch.along.length() * 2];
      const texel = Math.max(width, height) / LONG_PX;
      const toPx = (side: number) => Math.max(1, Math.ceil(side / texel / STEP_PX - 1e-6)) * STEP_PX;
      const [widthPx, heightPx] = [toPx(width), toPx(height)];
      for (const target of [sum, other, ranges, map]) target.setSize(widthPx, heightPx);
      page.setSize(widthPx * COLUMNS, heightPx * (TILES / COLUMNS));
      const { uniforms } = gather;
      uniforms.tile!.value = [widthPx, heightPx];
      uniforms.slack!.value = heightM * SLACK;
      uniforms.reach!.value = reachM;
      uniforms.nearest!.value = NEAREST_TEXELS * texel;

      const { autoClear } = renderer;
      for (let from = 0; from < DIRECTIONS; from += TILES) {
        renderer.autoClear = false;
        page.scissorTest = false;
        renderer.setRenderTarget(page);
        renderer.clear();
        page.scissorTest = true;
        for (let index = from; index < from + TILES; index++) drawTile(plan, casters, index, widthPx, heightPx);
        renderer.autoClear = autoClear;
        uniforms.rays!.value = directions
          .slice(from, from + TILES)
          .map(({ tangent, slant }) => new Vector3(tangent.length(), slant, getTop(plan, tangent)));
        uniforms.sum!.value = sum.texture;
        uniforms.first!.value = from === 0 ? 1 : 0;
        gather.draw(renderer, other);
        [sum, other] = [other, sum];
      }
      copy.uniforms.sum!.value = sum.texture;
      copy.draw(renderer, ranges);
      join.uniforms.border!.value.set((0.3 * reachM) / width, (0.3 * reachM) / height);
      join.draw(renderer, map);
      return map;
    },
    dispose() {
      for (const part of [page, depth, sum, other, ranges, map, gather, copy, join]) part.dispose();
    },
  };
}

/** A direction up from the floor: metres aside per metre of height, across and along, and its length. */
interface Direction {
  readonly tangent: Vector2;
  readonly slant: number;
}

/**
 * Points spread evenly over the unit disc by the golden angle (Vogel, 1979): raised onto the hemisphere they are weighted by
 * the cosine, and no two lie in one azimuth.
 */
function listDirections(): readonly Direction[] {
  const golden = Math.PI * (3 - Math.sqrt(5));
  return Array.from({ length: DIRECTIONS }, (_, index) => {
    const square = (index + 0.5) / DIRECTIONS;
    const cosine = Math.sqrt(1 - square);
    const tangent = Math.sqrt(square) / cosine;
    const turn = index * golden;
    return { tangent: new Vector2(Math.cos(turn) * tangent, Math.sin(turn) * tangent), slant: 1 / cosine };
  });
}

/** The greatest height that can count: the flatter a direction, the sooner it is too far aside. */
function getTop({ heightM, reachM }: ContactPlan, tangent: Vector2): number {
  return Math.min(heightM, reachM / tangent.length());
}

/** Turns the camera into a direction, each pixel from its own point of the patch: a sheared box up to the greatest height. */
function setOblique(matrix: Matrix4, plan: ContactPlan, { tangent }: Direction): void {
  const { centre, across, along, normal } = plan.patch;
  const row = (axis: Vector3, shear: number) => {
    const length = axis.length();
    return axis
      .clone()
      .divideScalar(length * length)
      .addScaledVector(normal, -shear / length);
  };
  const x = row(across, tangent.x);
  const y = row(along, tangent.y);
  const slack = plan.heightM * SLACK;
  const depth = getTop(plan, tangent) + 2 * slack;
  const z = normal.clone().multiplyScalar(2 / depth);
  const low = (2 * slack) / depth - 1;
  matrix.set(
    ...([x.x, x.y, x.z, -x.dot(centre)] as const),
    ...([y.x, y.y, y.z, -y.dot(centre)] as const),
    ...([z.x, z.y, z.z, low - z.dot(centre)] as const),
    ...([0, 0, 0, 1] as const),
  );
}

function createTarget(options: ConstructorParameters<typeof WebGLRenderTarget>[2]): WebGLRenderTarget {
  return new WebGLRenderTarget(1, 1, {
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: options?.depthTexture !== undefined,
    ...options,
  });
}
