import type { BufferGeometry, Material } from 'three';
import { FileFault, type GltfDocument } from './gltf-document.ts';
import { type Fit, type MadeMaterial, makeMaterial, toFit } from './make-material.ts';
import type { TextureStore } from './texture-store.ts';

/**
 * Bytes of maps, decoded and on the GPU, that a product keeps of earlier finishes: some seven finishes with three maps
 * of 2048 px. Without a limit, each of a product's finishes, possibly hundreds, would stay as long as the product.
 */
const KEPT_BYTES = 768 * 1024 * 1024;

/** Estimated memory of a finish without its maps: a material and its uniforms for each form. */
const FINISH_BYTES = 64 * 1024;

/** Owns the materials of one file, each in the forms that fit its geometries. */
export interface MaterialStore {
  /** The file's own material of a part, which lives as long as the file; `undefined` is glTF's default material. */
  getOwn(index: number | undefined, geometry: BufferGeometry): Promise<Material>;
  has(index: number): boolean;
  /** A finish for the next assignment. It ignores vertex colours, which would tint every finish; deliveries remove them. */
  getFinish(index: number, geometry: BufferGeometry): Promise<Material>;
  /** Starts an assignment and returns its number. Several may load at once. */
  begin(): number;
  /** Ends an assignment: evicts the least recently used finishes, above the limit, that no later assignment needs. */
  settle(assignment: number): void;
  dispose(): void;
}

interface Finish {
  /** The last assignment that needs it. */
  assignment: number;
  readonly forms: Map<string, Promise<MadeMaterial>>;
  readonly images: Set<number>;
}

export function createMaterialStore(
  document: GltfDocument,
  textures: TextureStore,
  keptBytes = KEPT_BYTES,
): MaterialStore {
  const own = new Map<string, Promise<MadeMaterial>>();
  // In order of last use.
  const finishes = new Map<number, Finish>();
  let assignments = 0;

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
      const finish = finishes.get(index) ?? { assignment: 0, forms: new Map(), images: new Set() };
      finish.assignment = assignments;
      finishes.delete(index);
      finishes.set(index, finish);
      const fit = toFit(geometry, false);
      const { material, loans } = await make(finish.forms, JSON.stringify(fit), index, fit);
      for (const { image } of loans) finish.images.add(image);
      return material;
    },
    begin: () => ++assignments,
    settle(assignment) {
      for (const [index, finish] of finishes) {
        const images = new Set([...finishes.values()].flatMap((each) => [...each.images]));
        const bytes = textures.measure(images) + finishes.size * FINISH_BYTES;
        if (finish.assignment >= assignment || bytes <= keptBytes) return;
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
