import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeBigModel } from './big-model.ts';
import { benchChoices } from './choices.ts';
import { benchColours } from './colours.ts';
import { benchDelays } from './delays.ts';
import { benchDelivery } from './delivery.ts';
import { benchFindings } from './findings.ts';
import { benchFirstPicture } from './first-picture.ts';
import { benchForms } from './forms.ts';
import { benchGrid } from './grid.ts';
import { benchHome } from './home.ts';
import { benchLayers } from './layers.ts';
import { benchLevelling } from './levelling.ts';
import { benchLibraryRepairs } from './library-repairs.ts';
import { benchMemory, benchProducts } from './memory.ts';
import { benchStart } from './start.ts';
import { benchSurvey } from './survey.ts';
import { benchSwatches } from './swatches.ts';
import { benchThousand } from './thousand.ts';
import { benchView } from './view.ts';
import { benchViewer } from './viewer.ts';

/** `npm run bench [delivery|forms|survey|start|swatches|layers|thousand|choices|grid|delays|colours|levelling|memory|products|home|view|viewer]`: measures side by side and prints ratios; asserts nothing. `findings FOLDER…`: what is found in models; `repairs FOLDER…`: our repairs beside the library's. */
/** One part per slot, as a prepared model has; and as many loose parts as a supplier's may have. */
const PARTS = [6, 600];

const [, , only, ...rest] = process.argv;
const folder = await mkdtemp(join(tmpdir(), 'dyeworks-bench-'));
try {
  if (!only || only === 'delivery') {
    const path = join(folder, 'model.glb');
    for (const parts of PARTS) {
      await writeBigModel(path, 150, 6, parts);
      await benchDelivery(folder, path);
    }
  }
  if (!only || only === 'forms') await benchForms(folder, rest[0] === undefined ? undefined : Number(rest[0]));
  if (!only || only === 'survey') await benchSurvey(folder);
  if (!only || only === 'start') {
    await benchStart();
    await benchFirstPicture();
  }
  if (!only || only === 'swatches') await benchSwatches(folder);
  if (!only || only === 'layers') await benchLayers(folder);
  if (!only || only === 'thousand') await benchThousand();
  if (!only || only === 'choices') await benchChoices();
  if (!only || only === 'grid') await benchGrid();
  if (!only || only === 'delays') await benchDelays();
  if (!only || only === 'colours') await benchColours();
  if (!only || only === 'levelling') await benchLevelling();
  if (!only || only === 'memory') await benchMemory(folder);
  if (!only || only === 'products') await benchProducts(folder);
  if (!only || only === 'home') await benchHome();
  if (!only || only === 'view') await benchView();
  if (!only || only === 'viewer') await benchViewer();
  if (only === 'findings') await benchFindings(folder, rest);
  if (only === 'repairs') await benchLibraryRepairs(folder, rest);
} finally {
  await rm(folder, { recursive: true, force: true });
}
