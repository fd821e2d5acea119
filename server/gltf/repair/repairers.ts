import type { RepairName } from '../../core/repair/repair.ts';
import { bakeTransforms } from './operations/bake-transforms.ts';
import { boxUvs } from './operations/box-uvs.ts';
import { fitTextures } from './operations/fit-textures.ts';
import { fixScene } from './operations/fix-scene.ts';
import { mergeParts } from './operations/merge-parts.ts';
import { neutralDetail } from './operations/neutral-detail.ts';
import { place } from './operations/place.ts';
import { renameMaterials } from './operations/rename-materials.ts';
import { scale } from './operations/scale.ts';
import { separatePieces } from './operations/separate-pieces.ts';
import { setNonmetal } from './operations/set-nonmetal.ts';
import { stripUnused } from './operations/strip-unused.ts';
import { turn } from './operations/turn.ts';
import { turnOutward } from './operations/turn-outward.ts';
import { unshareMesh } from './operations/unshare-mesh.ts';
import type { Repairer } from './repairer.ts';

/** Every repair by its name. */
export const REPAIRERS: { readonly [N in RepairName]: Repairer<N> } = {
  scale,
  place,
  'bake-transforms': bakeTransforms,
  'merge-parts': mergeParts,
  'separate-pieces': separatePieces,
  'set-nonmetal': setNonmetal,
  'neutral-detail': neutralDetail,
  'fit-textures': fitTextures,
  'strip-unused': stripUnused,
  'rename-materials': renameMaterials,
  'fix-scene': fixScene,
  'unshare-mesh': unshareMesh,
  'box-uvs': boxUvs,
  'turn-outward': turnOutward,
  turn,
};
