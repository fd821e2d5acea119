import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startService, type TestService } from '../support/start-service.ts';
import { goWholeWay, putTriedFinishes } from '../support/whole-way.ts';

// Models by other people, which are not part of this project. Each model in a folder is refused on upload with a code,
// or goes through to a delivery and a picture. DYEWORKS_TEST_MODELS names the folder (`.glb`, or zips of a `.gltf` with
// its files).

const folder = process.env.DYEWORKS_TEST_MODELS ?? '';
const TYPES: Readonly<Record<string, string>> = { glb: 'model/gltf-binary', zip: 'application/zip' };

// the models are not part of this project: a run without them lists this group as skipped, with the reason in its name
const name = folder ? `models of ${folder}` : 'models of others (DYEWORKS_TEST_MODELS names no folder of them)';
describe.runIf(folder)(name, () => {
  let service: TestService;
  beforeAll(async () => {
    service = await startService();
    await putTriedFinishes(service);
  });
  afterAll(() => service?.close());

  const files = folder ? readdirSync(folder).filter((name) => /\.(glb|zip)$/i.test(name)) : [];

  it('the folder has models', () => expect(files.length).toBeGreaterThan(0));

  it.each(files.map((name, index) => [name, index] as const))('%s goes through', async (name, index) => {
    const type = TYPES[name.slice(name.lastIndexOf('.') + 1).toLowerCase()]!;
    const { steps, faults } = await goWholeWay(service, `W${index}`, readFileSync(join(folder, name)), type, {
      picture: true,
    });
    expect(faults).toEqual([]);
    const refused = steps.filter(({ status }) => status >= 400);
    // only the upload may refuse
    expect(refused.filter(({ step }) => step !== 'upload')).toEqual([]);
  });
});
