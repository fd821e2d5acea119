import type { CurrentModel } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { makeBlankSurvey } from '../core/product/blank-survey.ts';
import { SURVEY_FORMAT, type Survey } from '../core/product/survey.ts';
import type { Context } from './context.ts';
import { once } from './once.ts';

/**
 * Measures a stored model again whose survey is from before a survey said what it says now, once. One that is refused by now
 * gets a blank survey that says why: lists of products, and the product itself, go on being answered.
 */
export async function refreshSurvey(
  context: Pick<Context, 'files' | 'models' | 'stores'>,
  code: string,
  model: CurrentModel,
): Promise<{ readonly survey: Survey }> {
  if (model.survey.format === SURVEY_FORMAT) return { survey: model.survey };
  return once(`survey ${code} ${model.revision} ${model.sha256}`, async () => {
    const { survey, pieces } = await context.models
      .survey(context.files.getPath(model.sha256), 'model/gltf-binary')
      .catch((error: unknown) => {
        if (!(error instanceof Problem)) throw error;
        return { survey: makeBlankSurvey(model.bytes, error.message), pieces: [] };
      });
    await context.stores.replaceSurvey(code, model.revision, survey, pieces);
    return { survey };
  });
}
