import {
  AddEquation,
  type BufferGeometry,
  CustomBlending,
  DataTexture,
  GLSL3,
  Mesh,
  NearestFilter,
  NoBlending,
  OneFactor,
  OneMinusSrcAlphaFactor,
  RawShaderMaterial,
  RGBAFormat,
  Scene,
  UnsignedByteType,
  Vector3,
  WebGLRenderTarget,
} from 'three';
import type { StudioScene } from '../studio-scene.ts';
import { createFullscreenPass } from '../targets.ts';

/** Numbers of things, as the picker has them. */
export interface Marked {
  /** Outlined. */
  readonly lit: readonly number[];
  /** Outlined and hatched. */
  readonly picked: readonly number[];
}

/** Colours of the lines, sRGB 0–1. */
export interface MarkColours {
  readonly ink: readonly [number, number, number];
  readonly paper: readonly [number, number, number];
}

/** Lines around parts of a product, drawn over its picture. They change no light, shadow or material of the studio. */
export interface Marks {
  setTriangles(geometry: BufferGeometry | null, things: number): void;
  mark(marked: Marked): void;
  setColours(colours: MarkColours): void;
  /** Whether there is anything to draw. */
  any(): boolean;
  /** Finds the marked pixels for the studio's camera and turn; px of the drawing. */
  prepare(widthPx: number, heightPx: number): void;
  /** Draws the lines over the canvas, in its current viewport. @param pixelRatio device pixels per CSS pixel */
  draw(pixelRatio: number): void;
  /** The number of the thing in each pixel, plus one; 0 without one. Rows run from the bottom. */
  readThings(widthPx: number, heightPx: number): Promise<Uint32Array>;
  dispose(): void;
}

/** Things in a row of the table of flags. */
const TABLE_WIDTH = 1024;

const VERTEX = /* glsl */ `
precision highp float;
precision highp int;
uniform mat4 modelViewMatrix;
uniform mat4 projectionMatrix;
in vec3 position;
in float thing;
flat out int number;
void main() {
  number = int( thing + 0.5 );
  gl_Position = projectionMatrix * modelViewMatrix * vec4( position, 1.0 );
}
`;

/** Red: lit and visible, green: lit behind others, blue and alpha: the same for picked. */
const MASK = /* glsl */ `
precision highp float;
precision highp int;
precision highp sampler2D;
uniform sampler2D table;
uniform bool behind;
flat in int number;
out vec4 result;
void main() {
  vec4 flags = texelFetch( table, ivec2( number % ${TABLE_WIDTH}, number / ${TABLE_WIDTH} ), 0 );
  if ( behind && flags.r + flags.g == 0.0 ) discard;
  result = behind ? vec4( 0.0, flags.r, 0.0, flags.g ) : vec4( flags.r, 0.0, flags.g, 0.0 );
}
`;

const NUMBER = /* glsl */ `
precision highp float;
precision highp int;
flat in int number;
out vec4 result;
void main() {
  int shown = number + 1;
  result = vec4( shown & 255, ( shown >> 8 ) & 255, ( shown >> 16 ) & 255, 255 ) / 255.0;
}
`;

/**
 * A line of ink with an edge of paper around what is visible of the marked parts, and a dotted one around what is hidden. Picked
 * parts are hatched as well, so that the two differ without colour.
 */
const LINES = /* glsl */ `
uniform sampler2D mask;
uniform vec3 ink;
uniform vec3 paper;
uniform float ratio;
in vec2 place;
out vec4 result;

/** How far the mask differs within some pixels. */
vec4 edge( ivec2 pixel, int reach ) {
  ivec2 last = textureSize( mask, 0 ) - 1;
  vec4 least = vec4( 1.0 );
  vec4 most = vec4( 0.0 );
  for ( int y = -reach; y <= reach; y++ ) {
    for ( int x = -reach; x <= reach; x++ ) {
      if ( x * x + y * y > reach * reach ) continue;
      vec4 near = texelFetch( mask, clamp( pixel + ivec2( x, y ), ivec2( 0 ), last ), 0 );
      least = min( least, near );
      most = max( most, near );
    }
  }
  return most - least;
}

void main() {
  ivec2 pixel = ivec2( place * vec2( textureSize( mask, 0 ) ) );
  vec4 here = texelFetch( mask, pixel, 0 );
  int thin = int( ratio + 0.5 );
  vec4 line = edge( pixel, thin );
  vec4 around = edge( pixel, thin + 1 );
  vec2 spot = vec2( pixel ) / ratio;
  float dots = step( mod( spot.x + spot.y, 6.0 ), 2.5 );
  float visible = max( line.r, line.b );
  float hidden = max( line.g, line.a ) * dots * ( 1.0 - max( here.r, here.b ) );
  float hatch = here.b * step( mod( spot.x - spot.y, 10.0 ), 1.0 ) * 0.8;
  float halo = here.b * step( mod( spot.x - spot.y - 1.0, 10.0 ), 1.0 ) * 0.6;
  float strong = max( visible, max( hidden, hatch ) );
  float soft = max( max( around.r, around.b ) * 0.75, max( halo, max( around.g, around.a ) * dots * 0.5 ) );
  float alpha = max( strong, soft );
  result = vec4( mix( paper, ink, strong ) * alpha, alpha );
}
`;

export function createMarks(studio: StudioScene): Marks {
  const { renderer } = studio;
  const target = new WebGLRenderTarget(1, 1, {
    type: UnsignedByteType,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: true,
  });
  let table = createTable(1);
  const uniforms = { table: { value: table }, behind: { value: false } };
  const front = createMaterial(MASK, uniforms);
  const behind = createMaterial(MASK, { table: uniforms.table, behind: { value: true } });
  Object.assign(behind, {
    depthTest: false,
    depthWrite: false,
    transparent: true,
    blending: CustomBlending,
    blendEquation: AddEquation,
    blendSrc: OneFactor,
    blendDst: OneFactor,
    blendSrcAlpha: OneFactor,
    blendDstAlpha: OneFactor,
  });
  const number = createMaterial(NUMBER, {});
  const scene = new Scene();
  const [solid, hidden] = [new Mesh(undefined, front), new Mesh(undefined, behind)];
  for (const mesh of [solid, hidden]) Object.assign(mesh, { frustumCulled: false, matrixAutoUpdate: false });
  hidden.renderOrder = 1;
  scene.add(solid, hidden);
  const lines = createFullscreenPass(LINES, {
    mask: { value: target.texture },
    ink: { value: new Vector3() },
    paper: { value: new Vector3(1, 1, 1) },
    ratio: { value: 1 },
  });
  Object.assign(lines.material, {
    transparent: true,
    blending: CustomBlending,
    blendSrc: OneFactor,
    blendDst: OneMinusSrcAlphaFactor,
  });
  let geometry: BufferGeometry | null = null;
  let things = 0;
  let marked: Marked = { lit: [], picked: [] };

  function fillTable(): void {
    const { data } = table.image;
    (data as Uint8Array).fill(0);
    for (const thing of marked.lit) data![thing * 4] = 255;
    for (const thing of marked.picked) data![thing * 4 + 1] = 255;
    table.needsUpdate = true;
  }

  function render(widthPx: number, heightPx: number): void {
    target.setSize(widthPx, heightPx);
    for (const mesh of [solid, hidden]) {
      mesh.geometry = geometry!;
      mesh.matrix.copy(studio.turntable.matrixWorld);
    }
    scene.updateMatrixWorld(true);
    studio.withCamera((camera) => {
      renderer.setRenderTarget(target);
      renderer.render(scene, camera);
    });
  }

  return {
    setTriangles(next, count) {
      geometry = next;
      things = count;
      table.dispose();
      table = createTable(count);
      uniforms.table.value = table;
      marked = { lit: [], picked: [] };
    },
    mark(next) {
      marked = next;
      fillTable();
    },
    setColours({ ink, paper }) {
      lines.uniforms.ink!.value.set(...ink);
      lines.uniforms.paper!.value.set(...paper);
    },
    any: () => geometry !== null && marked.lit.length + marked.picked.length > 0,
    prepare(widthPx, heightPx) {
      hidden.visible = true;
      solid.material = front;
      render(widthPx, heightPx);
    },
    draw(pixelRatio) {
      lines.uniforms.ratio!.value = pixelRatio;
      lines.draw(renderer, null);
    },
    async readThings(widthPx, heightPx) {
      if (!geometry || things === 0) return new Uint32Array();
      hidden.visible = false;
      solid.material = number;
      render(widthPx, heightPx);
      const bytes = new Uint8Array(widthPx * heightPx * 4);
      await renderer.readRenderTargetPixelsAsync(target, 0, 0, widthPx, heightPx, bytes);
      return Uint32Array.from({ length: widthPx * heightPx }, (_, pixel) =>
        bytes[pixel * 4 + 3] === 0
          ? 0
          : bytes[pixel * 4]! + bytes[pixel * 4 + 1]! * 256 + bytes[pixel * 4 + 2]! * 65536,
      );
    },
    dispose() {
      for (const part of [target, table, front, behind, number, lines]) part.dispose();
    },
  };
}

function createTable(things: number): DataTexture {
  const rows = Math.max(1, Math.ceil(things / TABLE_WIDTH));
  const table = new DataTexture(
    new Uint8Array(TABLE_WIDTH * rows * 4),
    TABLE_WIDTH,
    rows,
    RGBAFormat,
    UnsignedByteType,
  );
  table.magFilter = table.minFilter = NearestFilter;
  table.needsUpdate = true;
  return table;
}

function createMaterial(fragmentShader: string, uniforms: Record<string, { value: unknown }>): RawShaderMaterial {
  return new RawShaderMaterial({
    glslVersion: GLSL3,
    vertexShader: VERTEX,
    fragmentShader,
    uniforms,
    // a product is seen from both sides of its cloth
    side: 2,
    blending: NoBlending,
  });
}
