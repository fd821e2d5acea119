import { createIo } from '../support/gltf-io.ts';
import { createRandom } from '../support/random.ts';

/** A model whose every material is a slot, with plain finishes to wear. */
export interface PlainlyFinished {
  readonly bytes: Uint8Array;
  /** Primitives of each slot. */
  readonly slots: readonly (readonly { readonly mesh: number; readonly primitive: number }[])[];
  /** Material of the file. */
  readonly materialOf: (slot: number, finish: number) => number;
}

/** Adds so many plain finishes for every material of a model. */
export async function addPlainFinishes(model: Uint8Array, finishes: number): Promise<PlainlyFinished> {
  const io = await createIo();
  const document = await io.readBinary(model);
  const root = document.getRoot();
  const own = root.listMaterials();
  const random = createRandom(1);
  const slots = own.map((material) =>
    root
      .listMeshes()
      .flatMap((mesh, index) =>
        mesh
          .listPrimitives()
          .flatMap((part, primitive) => (part.getMaterial() === material ? [{ mesh: index, primitive }] : [])),
      ),
  );
  for (const material of own) {
    for (let finish = 0; finish < finishes; finish++) {
      document
        .createMaterial(`${material.getName()} ${finish}`)
        .copy(material)
        .setBaseColorTexture(null)
        .setBaseColorFactor([random.next(), random.next(), random.next(), 1])
        .setRoughnessFactor(0.2 + random.next() * 0.6);
    }
  }
  return {
    bytes: await io.writeBinary(document),
    slots,
    materialOf: (slot, finish) => own.length + slot * finishes + finish,
  };
}
