import { describe, expect, it } from 'vitest';
import type { Context } from '../../../server/actions/context.ts';
import { workFor } from '../../../server/actions/turns.ts';
import { findProductUsd } from '../../../server/actions/usd-forms.ts';
import type { DeliveryFile, DeliveryManifest } from '../../../server/core/delivery/delivery.ts';
import type { UsdRequest, UsdWritten } from '../../../server/core/delivery/usd-form.ts';
import type { ModelWork } from '../../../server/core/ports/models.ts';

// A file in USD is stored whole or not at all, whatever fails, and is made once for all who ask at the same time.

const WRITTEN: UsdWritten = {
  sha256: 'a'.repeat(64),
  bytes: 7,
  losses: [],
  box: { min: [0, 0, 0], max: [1, 1, 1] },
  triangles: 1,
  textures: 0,
  sets: [],
};
let number = 0;

function makeContext(
  write: (request: UsdRequest, work: ModelWork) => Promise<UsdWritten>,
  adopt = async () => undefined,
) {
  const rows = new Map<string, DeliveryFile>();
  const discarded: string[] = [];
  const stored = new Set<string>();
  const files = {
    newTemporary: async () => '/temporary',
    discard: async (path: string) => void discarded.push(path),
    adopt: async (_: string, sha256: string) => {
      await adopt();
      stored.add(sha256);
    },
    getPath: (sha256: string) => sha256,
    has: async (sha256: string) => stored.has(sha256),
  };
  const stores = {
    getDeliveryFile: async (_: string, __: number, form: string) => rows.get(form) ?? null,
    addDeliveryFiles: async (_: string, __: number, list: readonly DeliveryFile[]) => {
      for (const file of list) rows.set(file.form, file);
    },
    getProduct: async () => ({ code: 'CHAIR', mount: 'floor' }),
  };
  const context = { files, stores, models: { writeUsd: write } } as unknown as Context;
  return { context, rows, discarded, stored };
}

/** Deliveries differ, so that no test joins the work of another. */
function makeManifest(): DeliveryManifest {
  const variants = [{ code: 'A', name: 'A', choices: {} }];
  const delivery = ++number;
  const file = { sha256: 'b'.repeat(64), bytes: 1, mediaType: 'model/gltf-binary' };
  return {
    product: 'CHAIR',
    productName: 'Chair',
    delivery,
    default: 'A',
    variants,
    slots: [],
    file,
  } as unknown as DeliveryManifest;
}

describe('a file in USD', () => {
  it('is made once for calls at the same time and later ones, and again when its bytes are lost', async () => {
    let made = 0;
    const { context, stored } = makeContext(async () => {
      made++;
      return WRITTEN;
    });
    const manifest = makeManifest();
    const found = await Promise.all([findProductUsd(context, manifest), findProductUsd(context, manifest)]);
    expect([...found, await findProductUsd(context, manifest)]).toEqual(
      Array(3).fill({ sha256: WRITTEN.sha256, bytes: WRITTEN.bytes }),
    );
    expect(made).toBe(1);
    stored.clear();
    await findProductUsd(context, manifest);
    expect(made).toBe(2);
  });

  it.each(['write', 'adopt'])('leaves nothing when its %s fails', async (step) => {
    const full = Object.assign(new Error('no space'), { code: 'ENOSPC' });
    const fail = async () => {
      throw full;
    };
    const { context, rows, discarded } = makeContext(
      step === 'write' ? fail : async () => WRITTEN,
      step === 'adopt' ? fail : undefined,
    );
    await expect(findProductUsd(context, makeManifest())).rejects.toBe(full);
    expect([rows.size, discarded]).toEqual([0, ['/temporary']]);
  });

  it('is given up when its caller leaves', async () => {
    const caller = new AbortController();
    let stopped: () => void = () => undefined;
    const given = new Promise<void>((resolve) => {
      stopped = resolve;
    });
    const { context } = makeContext(
      (_, { signal }) =>
        new Promise((_, reject) => {
          signal!.addEventListener('abort', () => {
            stopped();
            reject(signal!.reason);
          });
          caller.abort(new Error('left'));
        }),
    );
    const call = workFor({ rank: 'person', name: 'one', signal: caller.signal }, () =>
      findProductUsd(context, makeManifest()),
    );
    await expect(call).rejects.toThrow();
    await given;
  });
});
