import { isNamedView, type ShotView, type View } from '../core/picture/picture.ts';
import { estimateCamera, PRODUCT_FILL } from '../core/picture/place-camera.ts';
import type { ProductShot } from '../core/ports/renderer.ts';
import type { SizedProduct } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import type { LoadedProduct } from './loaded-product.ts';

/** How large the product is in the frame. */
export interface RequestedFraming {
  /** Percent of the frame that the product fills in its tighter direction, 10–100. Default 85. */
  readonly fillPercent?: number;
  /** Margin on each edge that does not count as frame, px. Default 0. */
  readonly marginPx?: number;
  /** `line`: all products of the line at one scale, at which the largest fills the frame. Default `product`. */
  readonly scale?: 'product' | 'line';
}

/** The camera of a picture; part of the key of its pixels and layers. */
export type Camera = Pick<ProductShot, 'view' | 'closeOn' | 'framing'>;

interface CameraRequest {
  readonly view: ShotView;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly framing?: RequestedFraming;
}

/** @throws Problem `unknown-slot` for a close-up of a slot that does not exist or draws nothing */
export async function setCamera(context: Context, loaded: LoadedProduct, request: CameraRequest): Promise<Camera> {
  const { view, framing } = request;
  if (isNamedView(view)) return { view, framing: await toFraming(context, loaded, { ...request, view }) };
  const key = view.slice('slot:'.length);
  const slot = loaded.slots.find((candidate) => candidate.slot === key && candidate.primitives.length > 0);
  if (!slot) {
    const there = loaded.slots.filter(({ primitives }) => primitives.length > 0).map((each) => each.slot);
    throw new Problem('unknown-slot', {
      detail: PRODUCT_PROBLEMS['unknown-slot'].closeUp(loaded.product.code, key.slice(0, 64)),
      expected: there.slice(0, 50),
      received: key.slice(0, 64),
      where: 'view',
    });
  }
  const closeOn = slot.primitives.map(({ mesh, primitive }) => ({ mesh, primitive }));
  // a close-up shows the part as large as possible, so it does not share the scale of the line
  const { scale: _, ...rest } = framing ?? {};
  return { view: 'clearest', closeOn, framing: await toFraming(context, loaded, { ...request, framing: rest }) };
}

async function toFraming(
  context: Context,
  loaded: LoadedProduct,
  { view, widthPx, heightPx, framing = {} }: CameraRequest,
): Promise<Camera['framing']> {
  const fill = framing.fillPercent === undefined ? PRODUCT_FILL : framing.fillPercent / 100;
  const { marginPx = 0 } = framing;
  if (framing.scale !== 'line' || loaded.product.line === null || !isNamedView(view)) return { fill, marginPx };
  const pxPerM = measureLineScale(await context.stores.listLineSizes(loaded.product.line), {
    view,
    widthPx,
    heightPx,
    fill,
    marginPx,
  });
  return pxPerM === null ? { fill, marginPx } : { fill, marginPx, pxPerM };
}

/**
 * Pixels per metre at which the largest product of a line just fills the frame: the smallest scale of all products. Rounded down
 * to hundredths, so that it does not change with the last digit of a survey. Null if no product has a size.
 */
function measureLineScale(
  sizes: readonly SizedProduct[],
  frame: { view: View; widthPx: number; heightPx: number; fill: number; marginPx: number },
): number | null {
  const scales = sizes.map(({ size, mount }) => estimateCamera({ ...frame, size, mount }).pxPerM);
  return scales.length === 0 ? null : Math.floor(Math.min(...scales) * 100) / 100;
}
