import { Matrix4, type Texture, Vector2, Vector3, Vector4 } from 'three';

/** Tiles a page of depth maps holds at most; the loop in the shader is that long. */
export const MAX_TILES = 16;

/**
 * Uniforms all studio materials share by reference: change a value here, and every program sees it.
 * With no tiles and no floor everything is seen as standing in the open.
 */
export interface OcclusionUniforms {
  readonly studioTiles: { value: number };
  readonly studioDepth: { value: Texture | null };
  /** World to tile: x, y in the page's texture space, z in depth, all 0–1. */
  readonly studioTileMatrix: { value: Matrix4[] };
  /** Unit vectors towards the light, world space. */
  readonly studioTileDirection: { value: Vector3[] };
  /** x: offset along the normal in metres, y: depth bias in depth units. */
  readonly studioBias: { value: Vector2 };
  /** xyz: centre of the floor map on the floor, w: its half size in metres; 0 when there is no floor. */
  readonly studioFloor: { value: Vector4 };
  /** Weight of the floor's light, in units of one tile's. */
  readonly studioFloorWeight: { value: number };
  /** Red: share of light the floor still gets, 1 in the open; with mipmaps. */
  readonly studioFloorMap: { value: Texture | null };
}

export function createOcclusionUniforms(): OcclusionUniforms {
  return {
    studioTiles: { value: 0 },
    studioDepth: { value: null },
    studioTileMatrix: { value: Array.from({ length: MAX_TILES }, () => new Matrix4()) },
    studioTileDirection: { value: Array.from({ length: MAX_TILES }, () => new Vector3(0, 1, 0)) },
    studioBias: { value: new Vector2() },
    studioFloor: { value: new Vector4() },
    studioFloorWeight: { value: 0 },
    studioFloorMap: { value: null },
  };
}
