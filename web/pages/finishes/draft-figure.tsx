import { useEffect, useRef } from 'preact/hooks';
import { METAL_CHIP, sayColour, sayConverted } from '../../../server/core/finish/say-colour.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { seg } from '../../api.ts';
import { Picture } from '../../parts/picture.tsx';
import { describeDistance, toCssColour } from './describe-distance.ts';
import type { FinishesModel } from './finishes-model.ts';

interface DraftFigureProps {
  readonly model: FinishesModel;
  /** Null for a new finish. */
  readonly before: FinishAnswer | null;
}

/** What is written as it will be delivered, edge to edge with what was specified, and how far they are apart. */
export function DraftFigure({ model, before }: DraftFigureProps) {
  const draft = model.shown.value;
  const trouble = model.outcome.value.trouble;
  const distance = draft && describeDistance(draft);
  const converted = draft && sayConverted(draft.resolved.specification, draft.resolved);
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
                <dt>Specified</dt>
                <dd>
                  {sayColour(draft.resolved.specification)}
                  {converted !== null && (
                    <>
                      <br />→ {converted}
                    </>
                  )}
                </dd>
              </div>
              <div>
                <dt>Delivered</dt>
                <dd>
                  {draft.resolved.delivered?.hex ?? 'not measured'}
                  {draft.resolved.metalness === 1 && `, ${METAL_CHIP}`}
                </dd>
              </div>
              {draft.finish.display && (
                <div>
                  <dt>For screens</dt>
                  <dd>{draft.finish.display.hex}</dd>
                </div>
              )}
            </dl>
            <p class="strong" role="status">
              {distance.words}
            </p>
            {distance.small.map((line) => (
              <p key={line} class="small soft">
                {line}
              </p>
            ))}
          </figcaption>
        </>
      )}
      {trouble && <p class="notice small">{draft ? `${trouble} Shown is the last that could be read.` : trouble}</p>}
    </figure>
  );
}

/** The sphere of what is written; of a material that came with a model, and without WebGL, the picture of what is stored. */
function Sphere({ model, before }: DraftFigureProps) {
  const place = useRef<HTMLDivElement>(null);
  const draft = model.shown.value;
  const images = model.maps.files.value;
  const live = draft !== null && draft.resolved.supplied === null && model.swatch.state.value !== 'none';
  useEffect(() => (live ? model.swatch.stand(place.current!) : undefined), [model, live]);
  // what is not drawn yet waits for its images
  useEffect(() => {
    if (live) model.swatch.show(model.maps.useCopies(draft.resolved));
  }, [model, live, draft, images]);
  if (live) return <div class="draft-sphere no-print" ref={place} />;
  if (!before) return null;
  return (
    <div class="draft-stored">
      <Picture
        address={`/api/finishes/${seg(before.finish)}/swatch.webp?kind=sphere&size=256`}
        alt={`${before.name} on a sphere, as it is stored`}
        version={before.revision}
      />
      <p class="small soft">As it is stored.</p>
    </div>
  );
}
