import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type MappingPlan, planMappings } from '../../server/core/delivery/mapping-plan.ts';
import type { Article, Finish } from '../../server/core/finish/finish.ts';
import { type ResolvedFinish, resolveFinish } from '../../server/core/finish/resolve-finish.ts';
import type { MapFile, Written } from '../../server/core/ports/models.ts';
import { deriveSlots, type Slot } from '../../server/core/product/slot.ts';
import type { Survey } from '../../server/core/product/survey.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import { lendModels } from './engines.ts';
import { type Glb, makeGlb, readGlb, sha256 } from './glb.ts';
import { byFoldedCode, makeFinish } from './make-finish.ts';

export interface SpliceOptions {
  /**
   * Finish per slot, one object per variant; the first is the default. Absent: two variants, every slot RED then BLUE.
   */
  readonly rows?: readonly Readonly<Record<string, string>>[];
  readonly finishes?: readonly Finish[];
  readonly article?: Article;
  /** Uploaded images, by the digest the finishes use. */
  readonly maps?: Readonly<Record<string, MapFile>>;
  readonly changeSlot?: (slot: Slot) => Partial<Slot>;
}

export interface Spliced {
  readonly source: Glb;
  readonly sourceBytes: number;
  readonly output: Glb;
  readonly file: Uint8Array;
  readonly written: Written;
  readonly survey: Survey;
  readonly slots: readonly Slot[];
  readonly plan: MappingPlan;
  readonly resolved: ReadonlyMap<string, ResolvedFinish>;
}

export const RED = makeFinish('RED', { colour: { hex: '#b3202a' } });
export const BLUE = makeFinish('BLUE', { colour: { hex: '#1f4e8c' } });

/** Surveys a model, derives its slots, plans and writes: the same steps as a delivery, on real files. */
export function createSplicer(): {
  splice(model: Uint8Array, options?: SpliceOptions): Promise<Spliced>;
  survey(model: Uint8Array, type?: 'model/gltf-binary' | 'model/gltf+json' | 'application/zip'): Promise<Survey>;
  check(spliced: Spliced): ReturnType<ReturnType<typeof lendModels>['check']>;
  close(): Promise<void>;
} {
  const models = lendModels();
  const folder = mkdtemp(join(tmpdir(), 'dyeworks-splice-'));
  let files = 0;
  const put = async (bytes: Uint8Array): Promise<string> => {
    const path = join(await folder, `source-${files++}`);
    await writeFile(path, bytes);
    return path;
  };
  return {
    async survey(model, type = 'model/gltf-binary') {
      return (await models.survey(await put(model), type)).survey;
    },
    async splice(model, options = {}) {
      const { finishes = [RED, BLUE], article, maps = {}, changeSlot = () => ({}) } = options;
      const sourcePath = await put(model);
      const { survey } = await models.survey(sourcePath, 'model/gltf-binary');
      const slots = deriveSlots(survey, []).map((slot) => ({ ...slot, ...changeSlot(slot) }));
      const all = (finish: string) =>
        Object.fromEntries(slots.filter(({ fixed }) => !fixed).map(({ slot }) => [slot, finish]));
      const rows = options.rows ?? [all('RED'), all('BLUE')];
      const schedule: Schedule = {
        default: 'V0',
        variants: rows.map((choices, i) => ({ code: `V${i}`, name: `Variant number ${i}`, choices })),
      };
      const plan = planMappings(survey, slots, schedule);
      const resolved = new Map(
        [...byFoldedCode(finishes)].map(([code, finish]) => [
          code,
          resolveFinish(finish, finish.article && article ? article : null),
        ]),
      );
      const targetPath = `${sourcePath}.out`;
      const readMap = async (digest: string) => maps[digest]!;
      const written = await models.write({
        sourcePath,
        targetPath,
        images: survey.images,
        plan,
        finishes: resolved,
        readMap,
      });
      const file = new Uint8Array(await readFile(targetPath));
      if (written.sha256 !== sha256(file) || written.bytes !== file.length)
        throw new Error('digest or size is not true');
      return {
        source: readGlb(model),
        sourceBytes: model.length,
        output: readGlb(file),
        file,
        written,
        survey,
        slots,
        plan,
        resolved,
      };
    },
    async check({ source, file, plan, written }) {
      const sourcePath = await put(makeGlb(source.json, source.bin));
      return models.check({ sourcePath, targetPath: await put(file), plan }, written);
    },
    async close() {
      await models.close();
      await rm(await folder, { recursive: true, force: true });
    },
  };
}
