import {
  type DepthTexture as Depth,
  DepthTexture,
  LessEqualCompare,
  LinearFilter,
  Matrix4,
  NearestFilter,
  OrthographicCamera,
  RedFormat,
  type Scene,
  type Sphere,
  UnsignedByteType,
  UnsignedShortType,
  type Vector3,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';

/** Side of one direction's depth map: on a chair a texel is 3 mm, and a hundred maps blur what is left of it. */
export const TILE_PX = 384;

/** Margin round the product in a tile, so that filtering never reaches a neighbour. */
const MARGIN = 1.02;

/** Depth maps of several light directions in one texture. */
export interface DepthPage {
  readonly target: WebGLRenderTarget;
  readonly depth: Depth;
  readonly directions: readonly Vector3[];
  readonly matrices: readonly Matrix4[];
}

export function createPage(tiles: number): WebGLRenderTarget {
  const [columns, rows] = getGrid(tiles);
  const depthTexture = new DepthTexture(columns * TILE_PX, rows * TILE_PX, UnsignedShortType);
  depthTexture.compareFunction = LessEqualCompare;
  depthTexture.minFilter = depthTexture.magFilter = LinearFilter;
  return new WebGLRenderTarget(columns * TILE_PX, rows * TILE_PX, {
    // WebGL wants a colour attachment; one byte is the smallest
    format: RedFormat,
    type: UnsignedByteType,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthTexture,
  });
}

/** Draws the depth maps of one page. */
export function drawPage(
  renderer: WebGLRenderer,
  target: WebGLRenderTarget,
  casters: Scene,
  sphere: Sphere,
  directions: readonly Vector3[],
): DepthPage {
  const [columns, rows] = getGrid(directions.length);
  const radius = sphere.radius * MARGIN;
  const camera = new OrthographicCamera(-radius, radius, radius, -radius, 0, 2 * radius);
  const autoClear = renderer.autoClear;
  renderer.autoClear = false;
  target.viewport.set(0, 0, target.width, target.height);
  target.scissorTest = false;
  renderer.setRenderTarget(target);
  renderer.clear();
  const matrices = directions.map((direction, index) => {
    camera.position.copy(sphere.center).addScaledVector(direction, radius);
    camera.up.set(0, Math.abs(direction.y) > 0.99 ? 0 : 1, Math.abs(direction.y) > 0.99 ? -1 : 0);
    camera.lookAt(sphere.center);
    camera.updateMatrixWorld(true);
    const [column, row] = [index % columns, Math.floor(index / columns)];
    target.viewport.set(column * TILE_PX, row * TILE_PX, TILE_PX, TILE_PX);
    target.scissor.copy(target.viewport);
    target.scissorTest = true;
    renderer.setRenderTarget(target);
    renderer.render(casters, camera);
    return new Matrix4()
      .makeTranslation((column + 0.5) / columns, (row + 0.5) / rows, 0.5)
      .multiply(new Matrix4().makeScale(0.5 / columns, 0.5 / rows, 0.5))
      .multiply(camera.projectionMatrix)
      .multiply(camera.matrixWorldInverse);
  });
  renderer.autoClear = autoClear;
  return { target, depth: target.depthTexture as Depth, directions, matrices };
}

export function disposePage(target: WebGLRenderTarget): void {
  target.depthTexture?.dispose();
  target.dispose();
}

function getGrid(tiles: number): readonly [number, number] {
  const columns = Math.min(4, tiles);
  return [columns, Math.ceil(tiles / columns)];
}
