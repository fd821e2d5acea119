import type { TSchema } from 'typebox';
import { ColourSpecification } from './colour.ts';
import { ManifestAnswer } from './delivery.ts';
import { Finding, FindingCodes } from './finding.ts';
import { ArticleAnswer, FinishAnswer, FinishDefinition } from './finish.ts';
import { JobAnswer, JobEvent, JobPicture } from './job.ts';
import { Rule } from './line.ts';
import { ModelChanges } from './model.ts';
import { PictureSetAnswer } from './picture-set.ts';
import { BudgetAnswer, ProductAnswer } from './product.ts';
import { Repair, RepairReport } from './repair.ts';
import { ResolvedFinish } from './resolved-finish.ts';
import { ProblemAnswer, ProblemCodes } from './service.ts';
import { SlotAnswer } from './slot.ts';
import { Survey } from './survey.ts';

/** Schemas that the OpenAPI document holds once, under `components/schemas`: all those that `ref` points to. */
export const COMPONENTS: readonly TSchema[] = [
  JobPicture,
  ArticleAnswer,
  BudgetAnswer,
  ColourSpecification,
  Finding,
  FindingCodes,
  FinishAnswer,
  FinishDefinition,
  JobAnswer,
  JobEvent,
  ManifestAnswer,
  ModelChanges,
  PictureSetAnswer,
  ProblemAnswer,
  ProblemCodes,
  ProductAnswer,
  Repair,
  RepairReport,
  ResolvedFinish,
  Rule,
  SlotAnswer,
  Survey,
];
