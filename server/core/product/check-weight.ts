import type { Repair } from '../repair/repair.ts';
import { PLACES } from '../texts/format-text.ts';
import type { Budget, Limit } from './budgets.ts';
import { listUsed, placeOfImage } from './check-maps.ts';
import { countDrawnMaterials } from './check-structure.ts';
import { type Finding, makeFinding, type Severity } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { SurveyedImage } from './survey.ts';

/** Smallest texture size that is proposed. Below it, weaves and seams disappear. Judgement. */
const SMALLEST_TEXTURE_PX = 512;
/** Images with a smaller share of a file do not make it heavy. */
const HEAVY_SHARE = 0.25;

/**
 * Compares the model with its budget. Above a maximum is a warning; only above a recommendation is a note. Textures
 * have only a maximum, because a repair can reduce them to it.
 */
export function checkWeight(facts: ModelFacts): Finding[] {
  return [...checkFileSize(facts), ...checkTriangles(facts), ...checkDraws(facts), ...checkTextureSizes(facts)];
}

function checkFileSize({ survey, budget, drawn }: ModelFacts): Finding[] {
  const over = exceed(survey.bytes, budget.fileBytes);
  if (!over) return [];
  const heaviest = survey.weight.causes.slice(0, 3);
  const { geometry, images } = survey.weight;
  const causes =
    heaviest.length > 0
      ? heaviest
      : [
          { cause: 'geometry', bytes: geometry },
          { cause: 'images', bytes: images },
        ];
  const repairs: Repair[] = survey.unused.bytes > 0 ? [{ repair: 'strip-unused' }] : [];
  const imagesWeigh = survey.weight.images >= survey.bytes * HEAVY_SHARE;
  const leftBytes = over.limit - (survey.bytes - survey.weight.images - survey.unused.bytes);
  const sizePx = imagesWeigh
    ? planTextureSize(leftBytes / survey.weight.images, listUsed(survey, drawn), budget.texturePx)
    : null;
  if (sizePx !== null) repairs.push({ repair: 'fit-textures', sizePx });
  return [
    makeFinding(
      'file-too-heavy',
      { ...describeOver(over, budget), bytes: survey.bytes, causes, sizePx, imagesWeigh },
      {
        where: '/',
        place: PLACES.file,
        seen: survey.bytes,
        expected: budget.fileBytes,
        ...(repairs.length > 0 ? { repairs } : {}),
      },
      over.severity,
    ),
  ];
}

/**
 * The texture size, px, that reduces images to a share of their bytes. It is a power of two; bytes are assumed to
 * follow area. Null if the images are light or small enough.
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
      { ...describeOver(over, budget), triangles: survey.counts.triangles },
      {
        where: '/meshes',
        place: PLACES.model,
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
      { ...describeOver(over, budget), draws, materials, canMerge },
      {
        where: '/meshes',
        place: PLACES.model,
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
        widthPx: image.widthPx,
        heightPx: image.heightPx,
        budget: budget.label,
        limitPx: budget.texturePx,
        canResize: fits,
      },
      {
        where: `/images/${image.index}`,
        place: placeOfImage(survey, image),
        seen: longestSide(image),
        expected: budget.texturePx,
        ...(fits ? { repairs: [{ repair: 'fit-textures', sizePx: budget.texturePx }] } : {}),
      },
      fits ? 'warning' : 'note',
    );
  });
}

/** Dyeworks can reduce images of these kinds. Others (KTX2) and broken ones stay as they are. */
const FITTED = ['image/jpeg', 'image/png', 'image/webp'];
const canBeFitted = ({ mimeType, undecodable }: SurveyedImage) =>
  mimeType !== null && FITTED.includes(mimeType) && undecodable === null;
const longestSide = ({ widthPx, heightPx }: SurveyedImage) => Math.max(widthPx ?? 0, heightPx ?? 0);

interface Over {
  readonly severity: Severity;
  readonly limit: number;
  readonly isMaximum: boolean;
}

function exceed(seen: number, { recommended, maximum }: Limit): Over | null {
  if (maximum !== null && seen > maximum) return { severity: 'warning', limit: maximum, isMaximum: true };
  return seen > recommended ? { severity: 'note', limit: recommended, isMaximum: false } : null;
}

const describeOver = ({ limit, isMaximum }: Over, { label }: Budget) => ({ budget: label, limit, isMaximum });
