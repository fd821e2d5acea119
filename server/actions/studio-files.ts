import { createHash } from 'node:crypto';
import { foldCode } from '../core/codes.ts';
import { planStudio, type StudioPart } from '../core/delivery/studio-plan.ts';
import { listOptions, listRange } from '../core/line/options.ts';
import type { Files } from '../core/ports/files.ts';
import type { Models } from '../core/ports/models.ts';
import type { Dressing, StudioFile } from '../core/ports/renderer.ts';
import type { Stores } from '../core/ports/stores.ts';
import { type LoadedProduct, needModel } from './load-product.ts';
import { makeMapReader } from './read-map.ts';

/** A file pictures are taken from, and which of its materials a part wears in which finish. */
export interface StudioModel extends StudioFile {
  readonly bytes: number;
  readonly parts: readonly (Omit<StudioPart, 'results'> & { readonly materials: Readonly<Record<string, number>> })[];
}

/** Files kept ready; each is about as large as its model. */
const KEPT_FILES = 12;
/** Above this many finishes over all slots, only those in the schedule or asked for go into the file. */
const OPTION_LIMIT = 400;

/**
 * Makes the files the studio takes pictures from, by the very code that writes deliveries, and keeps the last few.
 * Asking twice at once makes one.
 */
export class StudioFiles {
  readonly #made = new Map<string, Promise<StudioModel>>();
  readonly #ports: { readonly files: Files; readonly models: Models; readonly stores: Stores };

  constructor(ports: { readonly files: Files; readonly models: Models; readonly stores: Stores }) {
    this.#ports = ports;
  }

  /**
   * @param asked choices that must be in the file, beside the schedule's and the options
   * @throws Problem `no-model`
   */
  get(loaded: LoadedProduct, asked: Readonly<Record<string, string>> = {}): Promise<StudioModel> {
    const { sha256 } = needModel(loaded);
    const wanted = listWanted(loaded, asked);
    const resolved = [...new Set([...wanted.values()].flat())].map((code) => loaded.finishes.resolve(code));
    const key = digest([sha256, loaded.slots, [...wanted], resolved]);
    let made = this.#made.get(key);
    if (made) this.#made.delete(key);
    else {
      made = this.#make(loaded, wanted);
      made.catch(() => this.#made.delete(key));
    }
    this.#made.set(key, made);
    this.#evict();
    return made;
  }

  async #make(loaded: LoadedProduct, wanted: ReadonlyMap<string, readonly string[]>): Promise<StudioModel> {
    const { files, models } = this.#ports;
    const model = needModel(loaded);
    const { plan, parts } = planStudio(model.survey, loaded.slots, (slot) => wanted.get(slot.slot) ?? []);
    const finishes = new Map(
      [...new Set([...wanted.values()].flat())].map((code) => [foldCode(code), loaded.finishes.resolve(code)]),
    );
    const targetPath = await files.newTemporary();
    const sourcePath = files.getPath(model.sha256);
    const written = await models.write({ sourcePath, targetPath, plan, finishes, readMap: makeMapReader(this.#ports) });
    return {
      key: written.sha256,
      path: targetPath,
      bytes: written.bytes,
      parts: parts.map(({ results, ...part }) => ({
        ...part,
        materials: Object.fromEntries(
          Object.entries(results).map(([code, result]) => [code, written.resultMaterials[result]!]),
        ),
      })),
    };
  }

  #evict(): void {
    for (const [key, made] of this.#made) {
      if (this.#made.size <= KEPT_FILES) return;
      this.#made.delete(key);
      void made.then(
        (file) => this.#ports.files.discard(file.path),
        () => undefined,
      );
    }
  }
}

/** Finishes every slot must be able to show: its options, what the schedule has there, and what is asked for. */
function listWanted(loaded: LoadedProduct, asked: Readonly<Record<string, string>>): Map<string, string[]> {
  const range = listRange(loaded.line, loaded.finishes.byCode);
  const slots = loaded.slots.filter((slot) => !slot.fixed && slot.primitives.length > 0);
  const options = slots.map((slot) => listOptions(slot, loaded.line, range).map((item) => item.finish.finish));
  const all = options.reduce((sum, list) => sum + list.length, 0) <= OPTION_LIMIT;
  return new Map(
    slots.map((slot, i) => {
      const scheduled = loaded.schedule?.schedule.variants.flatMap((variant) => variant.choices[slot.slot] ?? []) ?? [];
      const codes = new Set([
        ...(all ? options[i]! : []),
        ...scheduled,
        ...(asked[slot.slot] ? [asked[slot.slot]!] : []),
      ]);
      return [slot.slot, [...codes].sort()];
    }),
  );
}

/** The material each part wears in a combination; parts without a choice keep what the model came with. */
export function dress(model: StudioModel, choices: Readonly<Record<string, string>>): Dressing[] {
  return model.parts.map(({ slot, mesh, primitive, materials }) => {
    const code = choices[slot];
    return { mesh, primitive, material: code === undefined ? null : (materials[code] ?? null) };
  });
}

export function digest(value: unknown): string {
  return createHash('sha256').update(JSON.stringify(value)).digest('hex');
}
