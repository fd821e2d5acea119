import { foldCode } from '../core/codes.ts';
import { planStudio } from '../core/delivery/mapping-plan.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import { listOptions, listRange } from '../core/line/line.ts';
import { takesFinishes } from '../core/line/rules.ts';
import type { AssignedMaterial } from '../core/ports/renderer.ts';
import { requireDecodable } from '../core/product/check-structure.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import { digest } from './caching.ts';
import type { Asked, Context, StudioFiles, StudioModel } from './context.ts';
import { makeMapReader } from './finish-maps.ts';
import { type LoadedProduct, requireModel } from './loaded-product.ts';

type StudioPorts = Pick<Context, 'files' | 'models' | 'stores' | 'imaging' | 'pictures'>;

/** What the cache keeps beside files in use. The last file stays in any case, since more pictures of it usually follow. */
export interface KeptFiles {
  readonly files: number;
  /** On disk. Each file is about as large as its model, with the maps of its finishes. */
  readonly bytes: number;
  /** In memory: materials of parts. Each part has one for each finish. */
  readonly materials: number;
}

const KEPT: KeptFiles = { files: 12, bytes: 1024 * 1024 * 1024, materials: 500_000 };

/** With more options than this over all slots, a file contains only the finishes of the schedule and of the request. */
const OPTION_LIMIT = 400;

/**
 * Makes the files for the studio, with the code that writes deliveries, and keeps the most recent ones. Calls for the same file
 * at the same time share it.
 */
export class StudioFileCache implements StudioFiles {
  readonly #entries = new Map<string, Entry>();
  readonly #ports: StudioPorts;

  readonly #kept: KeptFiles;

  constructor(ports: StudioPorts, kept = KEPT) {
    this.#ports = ports;
    this.#kept = kept;
  }

  async use<T>(loaded: LoadedProduct, asked: Asked, work: (studio: StudioModel) => Promise<T>): Promise<T> {
    requireDecodable(requireModel(loaded).survey);
    const entry = this.#find(loaded, asked);
    entry.users++;
    try {
      return await work(await entry.made);
    } finally {
      entry.users--;
      this.#evict();
    }
  }

  #find(loaded: LoadedProduct, asked: Asked): Entry {
    const { sha256 } = requireModel(loaded);
    const wanted = listWanted(loaded, asked);
    const finishes = new Map(
      [...new Set([...wanted.values()].flat())].map((code) => [foldCode(code), loaded.finishes.resolve(code)]),
    );
    const key = digest([sha256, loaded.slots, [...wanted], [...finishes.values()]]);
    let entry = this.#entries.get(key);
    if (entry) this.#entries.delete(key);
    else {
      const made = this.#make(loaded, wanted, finishes);
      const added: Entry = { made, users: 0, bytes: 0, materials: 0 };
      entry = added;
      made.then(
        ({ bytes, parts }) => {
          added.bytes = bytes;
          added.materials = parts.reduce((sum, { materials }) => sum + Object.keys(materials).length, 0);
        },
        () => this.#entries.delete(key),
      );
    }
    // the most recently used entry is the last one
    this.#entries.set(key, entry);
    return entry;
  }

  async #make(
    loaded: LoadedProduct,
    wanted: ReadonlyMap<string, readonly string[]>,
    finishes: ReadonlyMap<string, ResolvedFinish>,
  ): Promise<StudioModel> {
    const { files, models } = this.#ports;
    const model = requireModel(loaded);
    const { plan, parts } = planStudio(model.survey, loaded.slots, (slot) => wanted.get(slot.slot) ?? []);
    const targetPath = await files.newTemporary();
    const sourcePath = files.getPath(model.sha256);
    const { images } = model.survey;
    const request = { sourcePath, targetPath, images, plan, finishes, readMap: makeMapReader(this.#ports) };
    const written = await models.write(request, { product: loaded.product.code }).catch(async (error: unknown) => {
      await files.discard(targetPath);
      throw error;
    });
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
    const { files, bytes, materials } = this.#kept;
    const sum = (of: 'bytes' | 'materials') => [...this.#entries.values()].reduce((all, entry) => all + entry[of], 0);
    for (const [key, { made, users }] of this.#entries) {
      const isOver = this.#entries.size > files || sum('bytes') > bytes || sum('materials') > materials;
      if (!isOver || this.#entries.size === 1) return;
      if (users > 0) continue;
      this.#entries.delete(key);
      void made.then(
        (file) => this.#ports.files.discard(file.path),
        () => undefined,
      );
    }
  }
}

interface Entry {
  readonly made: Promise<StudioModel>;
  users: number;
  /** Of the file; 0 until it is made. */
  bytes: number;
  materials: number;
}

/** The finishes that each slot of the file can show: its options, those of the schedule, and those of the request. */
function listWanted(loaded: LoadedProduct, asked: Asked): Map<string, string[]> {
  const range = listRange(loaded.line, loaded.finishes.byCode);
  const slots = loaded.slots.filter(takesFinishes);
  const options = slots.map((slot) => listOptions(slot, loaded.line, range).map((item) => item.finish.finish));
  const all = options.reduce((sum, list) => sum + list.length, 0) <= OPTION_LIMIT;
  return new Map(
    slots.map((slot, i) => {
      const scheduled =
        loaded.schedule?.schedule.variants.flatMap((variant) => choiceOf(variant.choices, slot.slot) ?? []) ?? [];
      const codes = new Set([
        ...(all ? options[i]! : []),
        ...scheduled,
        ...(Object.hasOwn(asked, slot.slot) ? [asked[slot.slot]!].flat() : []),
      ]);
      return [slot.slot, [...codes].sort()];
    }),
  );
}

/** The material of each part in a combination. Parts without a choice keep the model's own. */
export function assignMaterials(model: StudioModel, choices: Readonly<Record<string, string>>): AssignedMaterial[] {
  return model.parts.map(({ slot, mesh, primitive, materials }) => {
    const code = choiceOf(choices, slot);
    return { mesh, primitive, material: code === undefined ? null : (materials[code] ?? null) };
  });
}
