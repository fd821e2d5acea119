import type { ProductOrder } from '../../renderer/page/take-product.ts';
import type { SwatchOrder } from '../../renderer/page/take-swatch.ts';
import type { StudioSession } from '../../renderer/studio-session.ts';
import { once } from '../support/once.ts';
import { openTestSession } from './built-studio.ts';

/** A shot under light of radiance 1 from everywhere, without a tone curve. */
export interface EvenShot {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Linear RGB, premultiplied, and coverage of a pixel, counted from the upper left. */
  at(x: number, y: number): readonly [number, number, number, number];
  /** World matrix and projection of the camera, column by column. */
  readonly camera: { readonly world: readonly number[]; readonly projection: readonly number[] };
}

/** The studio in the tests' browser, under even light. */
export interface EvenStudio {
  readonly session: StudioSession;
  takeSwatch(kit: Uint8Array, order: Omit<SwatchOrder, 'url' | 'ground'>): Promise<EvenShot>;
  takeProduct(file: Uint8Array, order: Omit<ProductOrder, 'url' | 'ground' | 'tilePx'>): Promise<EvenShot>;
}

/** Tiles are never smaller than a picture, because the float values of only one tile can be read. */
const WHOLE = 4096;

/** The test files of a worker share the session. It ends with the process. */
const openShared = once(openTestSession);

/** The test files of a worker share the session; it ends with the process. */
export async function openEvenStudio(): Promise<EvenStudio> {
  const session = await openShared();
  const clear = { ground: 'transparent' } as const;
  return {
    session,
    takeSwatch: (kit, order) => take(session, kit, (url) => ({ ...clear, ...order, url }), order.sizePx, order.sizePx),
    takeProduct: (file, order) =>
      take(session, file, (url) => ({ ...clear, ...order, url, tilePx: WHOLE }), order.widthPx, order.heightPx),
  };
}

async function take(
  { server, call }: StudioSession,
  bytes: Uint8Array,
  orderOf: (url: string) => SwatchOrder | ProductOrder,
  widthPx: number,
  heightPx: number,
): Promise<EvenShot> {
  const offer = server.offer({ bytes });
  const delivery = server.expect(widthPx * heightPx * 16);
  try {
    const answer = await call('takeEvenly', orderOf(offer.url), delivery.url);
    if (!answer.ok) throw new Error(answer.message);
    const [pixels] = await delivery.pixels;
    const values = new Float32Array(pixels!.buffer);
    return {
      widthPx,
      heightPx,
      at(x, y) {
        const from = ((heightPx - 1 - y) * widthPx + x) * 4;
        return [values[from]!, values[from + 1]!, values[from + 2]!, values[from + 3]!];
      },
      camera: await call('getCamera'),
    };
  } finally {
    offer.withdraw();
    delivery.cancel();
  }
}
