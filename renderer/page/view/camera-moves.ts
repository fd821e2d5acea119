import { STANDS, type Stand } from '../../../server/core/picture/place-camera.ts';
import type { Crop } from '../studio-scene.ts';

/**
 * Where a person looks at a product from, and at which part of the fitted picture. Zooming enlarges the picture like a loupe: the
 * perspective stays, as in a drawing, and the camera never enters the product.
 */
export interface Shot extends Stand {
  /** Enlargement of the fitted picture; 1 shows the whole product in any turn. */
  readonly zoom: number;
  /** The middle of the view, as a share of the fitted picture from its left and its top. */
  readonly x: number;
  readonly y: number;
}

/** A place in the view, as a share of its width and height, from the left and from the top. */
export interface ViewPlace {
  readonly x: number;
  readonly y: number;
}

export const SHOT_LIMITS = {
  /** The camera stays above the floor. */
  elevation: { min: -2, max: 90 },
  /** At 24, a pixel of a chair is a tenth of a millimetre. */
  zoom: { min: 0.5, max: 24 },
  /** The middle of the view stays in the fitted picture. */
  place: { min: 0, max: 1 },
} as const;

/** The whole product from a direction. */
export function fitShot({ yawDegrees, elevationDegrees }: Stand = STANDS['three-quarter']): Shot {
  return { yawDegrees, elevationDegrees, zoom: 1, x: 0.5, y: 0.5 };
}

export function turnShot(shot: Shot, yawDegrees: number, elevationDegrees: number): Shot {
  return {
    ...shot,
    yawDegrees: wrap(shot.yawDegrees + yawDegrees),
    elevationDegrees: clamp(shot.elevationDegrees + elevationDegrees, SHOT_LIMITS.elevation),
  };
}

/** Moves the picture by shares of the view's width and height: to the right and down for positive ones. */
export function panShot(shot: Shot, right: number, down: number): Shot {
  return {
    ...shot,
    x: clamp(shot.x - right / shot.zoom, SHOT_LIMITS.place),
    y: clamp(shot.y - down / shot.zoom, SHOT_LIMITS.place),
  };
}

/** Enlarges by a factor; what is seen at `at` stays there, as far as the limits allow. */
export function zoomShot(shot: Shot, factor: number, at: ViewPlace = { x: 0.5, y: 0.5 }): Shot {
  const zoom = clamp(shot.zoom * factor, SHOT_LIMITS.zoom);
  const move = (middle: number, place: number) =>
    clamp(middle + (place - 0.5) / shot.zoom - (place - 0.5) / zoom, SHOT_LIMITS.place);
  return { ...shot, zoom, x: move(shot.x, at.x), y: move(shot.y, at.y) };
}

/** The part of the enlarged picture that is drawn, px. */
export function getCrop({ zoom, x, y }: Shot, widthPx: number, heightPx: number): Crop {
  return { zoom, left: widthPx * (x * zoom - 0.5), top: heightPx * (y * zoom - 0.5) };
}

/** An angle from −180 up to, but not including, 180. */
function wrap(degrees: number): number {
  return ((((degrees + 180) % 360) + 360) % 360) - 180;
}

function clamp(value: number, { min, max }: { readonly min: number; readonly max: number }): number {
  return Math.min(Math.max(value, min), max);
}
