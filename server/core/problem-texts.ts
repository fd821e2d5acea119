import { CALL_PROBLEMS } from './texts/problems/call.ts';
import { COLOUR_PROBLEMS } from './texts/problems/colour.ts';
import { FINISH_PROBLEMS } from './texts/problems/finish.ts';
import { IMPORT_PROBLEMS } from './texts/problems/import.ts';
import { MODEL_PROBLEMS } from './texts/problems/model.ts';
import { PICTURE_PROBLEMS } from './texts/problems/picture.ts';
import { PICTURE_SET_PROBLEMS } from './texts/problems/picture-set.ts';
import type { ProblemTexts } from './texts/problems/problem-text.ts';
import { PRODUCT_PROBLEMS } from './texts/problems/product.ts';
import { REPAIR_PROBLEMS } from './texts/problems/repair.ts';
import { REQUEST_PROBLEMS } from './texts/problems/request.ts';
import { STUDIO_PROBLEMS } from './texts/problems/studio.ts';

/** Every text of a refusal, by subject and then by code. A call site imports its subject and gives code and values. */
export const PROBLEM_TEXTS = {
  call: CALL_PROBLEMS,
  colour: COLOUR_PROBLEMS,
  import: IMPORT_PROBLEMS,
  pictureSet: PICTURE_SET_PROBLEMS,
  finish: FINISH_PROBLEMS,
  model: MODEL_PROBLEMS,
  picture: PICTURE_PROBLEMS,
  product: PRODUCT_PROBLEMS,
  repair: REPAIR_PROBLEMS,
  request: REQUEST_PROBLEMS,
  studio: STUDIO_PROBLEMS,
} as const satisfies Readonly<Record<string, ProblemTexts>>;
