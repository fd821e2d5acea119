import type { RevisionOrigin } from '../../../../server/core/product/model-revision.ts';
import { count } from '../../../format.ts';
import { listFirst } from '../readiness/describe-repair.ts';

const NAMES = {
  scale: 'scaled',
  place: 'placed',
  'bake-transforms': 'transforms baked',
  'merge-parts': 'parts merged',
  'separate-pieces': 'pieces separated',
  'set-nonmetal': 'set to no metal',
  'neutral-detail': 'colour maps made neutral',
  'fit-textures': 'textures fitted',
  'strip-unused': 'unused content taken out',
  'rename-materials': 'materials renamed',
  'fix-scene': 'scene mended',
  'unshare-mesh': 'shared meshes parted',
  'box-uvs': 'UVs generated',
  'turn-outward': 'pieces turned outward',
  turn: 'turned',
} as const;

/** How a revision came about: “received”, or “from 1: scaled, placed and parts merged”. */
export function describeOrigin(origin: RevisionOrigin): string {
  if (origin.kind === 'received') return 'Received';
  const done = origin.reports.filter(({ outcome }) => outcome === 'done').map(({ repair }) => NAMES[repair.repair]);
  const unfit = origin.reports.filter(({ outcome }) => outcome === 'unfit').length;
  const what = done.length > 0 ? listFirst([...new Set(done)]) : 'nothing changed';
  return `From ${origin.from}: ${what}${unfit > 0 ? `; ${count(unfit, 'step')} did not fit` : ''}`;
}
