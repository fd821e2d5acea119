import { LRUCache } from 'lru-cache';
import type { CurrentModel } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { makeBlankSurvey } from '../core/product/blank-survey.ts';
import { SURVEY_FORMAT, type Survey } from '../core/product/survey.ts';
import type { Context } from './context.ts';
import { shareInFlight } from './share-in-flight.ts';

/**
 * Blank surveys of models that could not be measured for a passing reason. They are measured again after a minute: the
 * machine may only have been busy.
 */
const unmeasured = new LRUCache<string, Survey>({ max: 1000, ttl: 60_000 });

/**
 * Measures a stored model again whose survey is from before a survey said what it says now, once. One that is refused by now
 * gets a blank survey that says why: lists of products, and the product itself, go on being answered. Where measuring took
 * too long or failed, the blank survey stands for a minute and is not stored.
 */
export async function refreshSurvey(
  context: Pick<Context, 'files' | 'models' | 'stores'>,
  code: string,
  model: Pick<CurrentModel, 'survey' | 'revision' | 'sha256' | 'bytes'>,
): Promise<{ readonly survey: Survey }> {
  if (model.survey.format === SURVEY_FORMAT) return { survey: model.survey };
  const key = `survey ${code} ${model.revision} ${model.sha256}`;
  const known = unmeasured.get(key);
  if (known) return { survey: known };
  return shareInFlight(key, async () => {
    try {
      const { survey, pieces } = await context.models.survey(context.files.getPath(model.sha256), 'model/gltf-binary');
      await context.stores.replaceSurvey(code, model.revision, survey, pieces);
      return { survey };
    } catch (error) {
      const refused = error instanceof Problem && error.code !== 'model-too-complex';
      const survey = makeBlankSurvey(
        model.bytes,
        error instanceof Problem ? error.message : 'The model could not be measured. Try again in a minute.',
      );
      if (refused) await context.stores.replaceSurvey(code, model.revision, survey, []);
      else unmeasured.set(key, survey);
      return { survey };
    }
  });
}
