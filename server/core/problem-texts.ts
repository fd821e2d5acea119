import { CALL_PROBLEMS } from './texts/problems/call.ts';
import { COLOUR_PROBLEMS } from './texts/problems/colour.ts';
import { IMPORT_PROBLEMS } from './texts/problems/import.ts';
import { PICTURE_SET_PROBLEMS } from './texts/problems/picture-set.ts';
import type { ProblemTexts } from './texts/problems/problem-text.ts';

/** Every text of a refusal, by subject and then by code. A call site imports its subject and gives code and values. */
export const PROBLEM_TEXTS = {
  call: CALL_PROBLEMS,
  colour: COLOUR_PROBLEMS,
  import: IMPORT_PROBLEMS,
  pictureSet: PICTURE_SET_PROBLEMS,
} as const satisfies Readonly<Record<string, ProblemTexts>>;
