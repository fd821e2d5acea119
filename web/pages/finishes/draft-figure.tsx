import { useEffect, useRef } from 'preact/hooks';
import { formatColour, formatConverted, METAL_CHIP } from '../../../server/core/finish/format-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { seg } from '../../api.ts';
import { Picture } from '../../parts/picture.tsx';
import { finishesTexts } from '../../texts/finishes.ts';
import { describeDistance, toCssColour } from './finish-draft.ts';
import type { FinishesModel } from './finishes-model.ts';

const texts = finishesTexts.draft;

interface DraftFigureProps {
  readonly model: FinishesModel;
  /** Null for a new finish. */
  readonly before: FinishAnswer | null;
}

/** The delivered colour next to the specified one, and the difference between them, for the values in the form. */
export function DraftFigure({ model, before }: DraftFigureProps) {
  const draft = model.shown.value;
  const problem = model.outcome.value.problem;
  const distance = draft && describeDistance(draft);
  const converted = draft && formatConverted(draft.resolved.specification, draft.resolved);
  return (
    <figure class="draft">
      <Sphere model={model} before={before} />
      {draft && distance && (
        <>
          <div class="draft-chips" aria-hidden="true">
            <span style={{ backgroundColor: toCssColour(draft.resolved.specifiedLab) }} />
            <span style={{ backgroundColor: draft.resolved.delivered?.hex ?? draft.resolved.hex }} />
            {draft.finish.display && <span style={{ backgroundColor: draft.finish.display.hex }} />}
          </div>
          <figcaption>
            <dl class="draft-names small">
              <div>
                <dt>{texts.specified}</dt>
                <dd>
                  {formatColour(draft.resolved.specification)}
                  {converted !== null && (
                    <>
                      <br />→ {converted}
                    </>
                  )}
                </dd>
              </div>
              <div>
                <dt>{texts.delivered}</dt>
                <dd>
                  {draft.resolved.delivered?.hex ?? texts.notMeasured}
                  {draft.resolved.metalness === 1 && `, ${METAL_CHIP}`}
                </dd>
              </div>
              {draft.finish.display && (
                <div>
                  <dt>{texts.screenColour}</dt>
                  <dd>{draft.finish.display.hex}</dd>
                </div>
              )}
            </dl>
            <p class="strong" role="status">
              {distance.verdict}
            </p>
            {distance.details.map((line) => (
              <p key={line} class="small soft">
                {line}
              </p>
            ))}
          </figcaption>
        </>
      )}
      {problem && <p class="notice small">{draft ? `${problem} ${texts.lastValid}` : problem}</p>}
    </figure>
  );
}

/** A live sphere of the form's values. For a supplied material, and without WebGL, a picture of the stored finish. */
function Sphere({ model, before }: DraftFigureProps) {
  const place = useRef<HTMLDivElement>(null);
  const draft = model.shown.value;
  const images = model.maps.files.value;
  const live = draft !== null && draft.resolved.supplied === null && model.swatch.state.value !== 'none';
  useEffect(() => (live ? model.swatch.attach(place.current!) : undefined), [model, live]);
  // images are a dependency because a map is drawn once it has loaded
  useEffect(() => {
    if (live) model.swatch.show(model.maps.useCopies(draft.resolved));
  }, [model, live, draft, images]);
  if (live) return <div class="draft-sphere no-print" ref={place} />;
  if (!before) return null;
  return (
    <div class="draft-stored">
      <Picture
        address={`/api/finishes/${seg(before.finish)}/swatch.webp?kind=sphere&size=256`}
        alt={texts.storedPicture(before.name)}
        version={before.revision}
      />
      <p class="small soft">{texts.stored}</p>
    </div>
  );
}
