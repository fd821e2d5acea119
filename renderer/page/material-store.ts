import type { BufferGeometry, Material } from 'three';
import { FileFault, type GltfDocument } from './gltf-document.ts';
import { type Fit, type MadeMaterial, makeMaterial, toFit } from './make-material.ts';
import type { TextureStore } from './texture-store.ts';

/**
 * Bytes of maps of finishes worn before that a product keeps ready, decoded and on the GL side: some seven finishes of
 * three maps of 2048 px. A product may have hundreds of them, and each would stay for as long as the product does.
 */
const KEPT_BYTES = 768 * 1024 * 1024;

/** Owns the materials of one file, each in the forms that fit the geometries which wear it. */
export interface MaterialStore {
  /** What a part wears as the file gives it, for as long as the file is there; `undefined` is glTF's default material. */
  getOwn(index: number | undefined, geometry: BufferGeometry): Promise<Material>;
  has(index: number): boolean;
  /** A finish, to be worn next. A delivery takes vertex colours off parts that take finishes: they would tint every one. */
  getFinish(index: number, geometry: BufferGeometry): Promise<Material>;
  /** Another dressing begins to be fetched; several may be fetched at once. Answers its number. */
  begin(): number;
  /** That dressing is put on: of the finishes no later one asked for, those not worn for longest go, as many as are too much. */
  settle(dressing: number): void;
  dispose(): void;
}

interface Finish {
  /** The last dressing that asked for it. */
  dressing: number;
  readonly forms: Map<string, Promise<MadeMaterial>>;
  readonly images: Set<number>;
}

export function createMaterialStore(
  document: GltfDocument,
  textures: TextureStore,
  keptBytes = KEPT_BYTES,
): MaterialStore {
  const own = new Map<string, Promise<MadeMaterial>>();
  // what was worn last stands last
  const finishes = new Map<number, Finish>();
  let dressings = 0;

  function make(forms: Map<string, Promise<MadeMaterial>>, key: string, index: number | undefined, fit: Fit) {
    let made = forms.get(key);
    if (!made) {
      const json = index === undefined ? {} : document.list('materials')[index];
      made = json
        ? makeMaterial(document, json, textures, fit)
        : Promise.reject(new FileFault(`There is no material ${index}.`));
      forms.set(key, made);
    }
    return made;
  }

  function release(made: Promise<MadeMaterial>): void {
    made.then(
      ({ material, loans }) => {
        material.dispose();
        for (const loan of loans) loan.giveBack();
      },
      () => undefined,
    );
  }

  return {
    has: (index) => index < document.list('materials').length,
    async getOwn(index, geometry) {
      const fit = toFit(geometry, true);
      const known = index !== undefined && index < document.list('materials').length ? index : undefined;
      return (await make(own, `${known} ${JSON.stringify(fit)}`, known, fit)).material;
    },
    async getFinish(index, geometry) {
      const finish = finishes.get(index) ?? { dressing: 0, forms: new Map(), images: new Set() };
      finish.dressing = dressings;
      finishes.delete(index);
      finishes.set(index, finish);
      const fit = toFit(geometry, false);
      const { material, loans } = await make(finish.forms, JSON.stringify(fit), index, fit);
      for (const { image } of loans) finish.images.add(image);
      return material;
    },
    begin: () => ++dressings,
    settle(dressing) {
      for (const [index, finish] of finishes) {
        const images = new Set([...finishes.values()].flatMap((each) => [...each.images]));
        if (finish.dressing >= dressing || textures.measure(images) <= keptBytes) return;
        finishes.delete(index);
        for (const made of finish.forms.values()) release(made);
      }
    },
    dispose() {
      for (const forms of [own, ...[...finishes.values()].map((finish) => finish.forms)]) {
        for (const made of forms.values()) release(made);
      }
      textures.dispose();
    },
  };
}
