import type { Repair } from '../repair/repair.ts';
import { count, formatBytes, formatNumber } from '../texts/format-text.ts';
import type { Limit } from './budgets.ts';
import { listUsed, placeOfImage } from './check-images.ts';
import { countDrawnMaterials } from './check-structure.ts';
import { type Finding, makeFinding, type Severity } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { SurveyedImage } from './survey.ts';

/** Textures are not proposed smaller than this: below it a weave or a seam is gone. Judgement. */
const SMALLEST_TEXTURE_PX = 512;
/** Images of less than this share of a file are not what makes it heavy. */
const HEAVY_SHARE = 0.25;

/**
 * The model against its budget. Above a maximum is a warning, above a recommendation alone a note; textures have only a
 * maximum, since a repair brings them down to it.
 */
export function checkWeight(facts: ModelFacts): Finding[] {
  return [...checkFileSize(facts), ...checkTriangles(facts), ...checkDraws(facts), ...checkTextureSizes(facts)];
}

function checkFileSize({ survey, budget, drawn }: ModelFacts): Finding[] {
  const over = exceed(survey.bytes, budget.fileBytes);
  if (!over) return [];
  const heaviest = survey.weight.causes.slice(0, 3).map(({ cause, bytes }) => `${cause} ${formatBytes(bytes)}`);
  const causes =
    heaviest.length > 0
      ? heaviest.join(', ')
      : `geometry ${formatBytes(survey.weight.geometry)}, images ${formatBytes(survey.weight.images)}`;
  const repairs: Repair[] = survey.unused.bytes > 0 ? [{ repair: 'strip-unused' }] : [];
  const imagesWeigh = survey.weight.images >= survey.bytes * HEAVY_SHARE;
  const leftBytes = over.limit - (survey.bytes - survey.weight.images - survey.unused.bytes);
  const sizePx = imagesWeigh
    ? planTextureSize(leftBytes / survey.weight.images, listUsed(survey, drawn), budget.texturePx)
    : null;
  if (sizePx !== null) repairs.push({ repair: 'fit-textures', sizePx });
  const rest = imagesWeigh
    ? 'Its images weigh, but are small already or of a kind not written here: ask for lighter ones.'
    : 'Its images are not what weighs: ask for an export with fewer triangles or with compressed geometry.';
  const next = sizePx === null ? rest : `Textures of at most ${sizePx} px bring it near (an estimate).`;
  return [
    makeFinding(
      'file-too-heavy',
      {
        where: '/',
        place: 'the file',
        message: `The file weighs ${formatBytes(survey.bytes)}; ${budget.label} ${over.says} ${formatBytes(over.limit)}. Heaviest: ${causes}. ${next}`,
        seen: survey.bytes,
        expected: budget.fileBytes,
        ...(repairs.length > 0 ? { repairs } : {}),
      },
      over.severity,
    ),
  ];
}

/**
 * Size in px, a power of two, that brings images to a share of their bytes, taking bytes to go with area; null where they
 * are light or small enough.
 */
function planTextureSize(share: number, images: readonly SurveyedImage[], budgetPx: number): number | null {
  const largest = Math.max(0, ...images.filter(canBeFitted).map(longestSide));
  if (share >= 1 || largest <= SMALLEST_TEXTURE_PX) return null;
  const wanted = share > 0 ? 2 ** Math.floor(Math.log2(largest * Math.sqrt(share))) : 0;
  const sizePx = Math.min(budgetPx, Math.max(SMALLEST_TEXTURE_PX, wanted));
  return sizePx < largest ? sizePx : null;
}

function checkTriangles({ survey, budget }: ModelFacts): Finding[] {
  const over = exceed(survey.counts.triangles, budget.triangles);
  if (!over) return [];
  return [
    makeFinding(
      'too-many-triangles',
      {
        where: '/meshes',
        place: 'the whole model',
        message: `The scene has ${formatNumber(survey.counts.triangles)} triangles; ${budget.label} ${over.says} ${formatNumber(over.limit)}. Fewer triangles change the shape, so no repair does it here: ask for a lighter export, or choose another budget.`,
        seen: survey.counts.triangles,
        expected: budget.triangles,
      },
      over.severity,
    ),
  ];
}

function checkDraws({ survey, budget, drawn }: ModelFacts): Finding[] {
  const { draws } = survey.counts;
  const over = exceed(draws, budget.draws);
  if (!over) return [];
  const materials = countDrawnMaterials(survey, drawn.length);
  const canMerge = draws > materials;
  return [
    makeFinding(
      'too-many-draws',
      {
        where: '/meshes',
        place: 'the whole model',
        message: `The scene takes ${formatNumber(draws)} draws; ${budget.label} ${over.says} ${formatNumber(over.limit)}. ${canMerge ? `Merged by material it takes about ${count(materials, 'draw')}.` : `It has ${count(materials, 'material')}, and each takes a draw: join materials that never change apart.`}`,
        seen: draws,
        expected: budget.draws,
        ...(canMerge ? { repairs: [{ repair: 'merge-parts' }] } : {}),
      },
      over.severity,
    ),
  ];
}

function checkTextureSizes({ survey, budget, drawn }: ModelFacts): Finding[] {
  const large = listUsed(survey, drawn).filter((image) => longestSide(image) > budget.texturePx);
  return large.map((image) => {
    const fits = canBeFitted(image);
    return makeFinding(
      'texture-too-large',
      {
        where: `/images/${image.index}`,
        place: placeOfImage(survey, image),
        message: `This image is ${image.widthPx} × ${image.heightPx} px; ${budget.label} takes ${budget.texturePx} px at most. ${fits ? 'It can be made smaller here.' : 'Images of its kind are not written here: ask for a smaller one.'}`,
        seen: longestSide(image),
        expected: budget.texturePx,
        ...(fits ? { repairs: [{ repair: 'fit-textures', sizePx: budget.texturePx }] } : {}),
      },
      fits ? 'warning' : 'note',
    );
  });
}

/** Images of these kinds are written smaller here; others (KTX2) and broken ones stay as they are. */
const FITTED = ['image/jpeg', 'image/png', 'image/webp'];
const canBeFitted = ({ mimeType, undecodable }: SurveyedImage) =>
  mimeType !== null && FITTED.includes(mimeType) && undecodable === null;
const longestSide = ({ widthPx, heightPx }: SurveyedImage) => Math.max(widthPx ?? 0, heightPx ?? 0);

function exceed(
  seen: number,
  { recommended, maximum }: Limit,
): { severity: Severity; limit: number; says: string } | null {
  if (maximum !== null && seen > maximum) return { severity: 'warning', limit: maximum, says: 'takes at most' };
  return seen > recommended ? { severity: 'note', limit: recommended, says: 'recommends at most' } : null;
}
