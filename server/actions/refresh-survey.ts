import type { CurrentModel } from '../core/ports/stores.ts';
import { SURVEY_FORMAT, type Survey } from '../core/product/survey.ts';
import type { Context } from './context.ts';
import { once } from './once.ts';

/** Measures a stored model again whose survey is from before a survey said what it says now, once. */
export async function refreshSurvey(
  context: Pick<Context, 'files' | 'models' | 'stores'>,
  code: string,
  model: CurrentModel,
): Promise<{ readonly survey: Survey }> {
  if (model.survey.format === SURVEY_FORMAT) return { survey: model.survey };
  return once(`survey ${code} ${model.revision} ${model.sha256}`, async () => {
    const { survey, pieces } = await context.models.survey(context.files.getPath(model.sha256), 'model/gltf-binary');
    await context.stores.replaceSurvey(code, model.revision, survey, pieces);
    return { survey };
  });
}
