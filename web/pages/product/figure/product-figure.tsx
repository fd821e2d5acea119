import { useEffect, useRef } from 'preact/hooks';
import type { View } from '../../../../server/core/picture/picture.ts';
import { formatKey } from '../../../format.ts';
import { Picture } from '../../../parts/picture.tsx';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import type { Row } from '../schedule/schedule-draft.ts';
import { Elevation } from './elevation.tsx';

const texts = productTexts.figure;

const VIEWS: readonly View[] = ['front', 'three-quarter', 'side', 'back', 'top'];

/** The product: a live preview of the selected variant, and two dimensioned views. */
export function ProductFigure({ model }: { readonly model: ProductModel }) {
  const { preview, schedule } = model;
  const row = schedule.selectedRow.value;
  const { rows, defaultKey } = schedule.saved.value;
  const byDefault = rows.find(({ key }) => key === defaultKey) ?? null;
  const size = model.survey.value?.size ?? null;
  const still = preview.state.value === 'still';
  return (
    <section class="figure-sheet" aria-label={texts.section}>
      <figure class="main-figure">
        <LivePreview model={model} row={row} alt={row ? texts.variantAlt(row.name) : texts.original} />
        <figcaption>
          <p>
            <span class="strong">{row ? row.name : texts.original}</span>{' '}
            {row && <span class="code soft">{row.code}</span>}
          </p>
          {still ? (
            <p class="soft">{preview.problem.value}</p>
          ) : (
            <fieldset class="views no-print">
              <legend class="unseen">{texts.view}</legend>
              {VIEWS.map((view) => (
                <button
                  type="button"
                  key={view}
                  aria-pressed={preview.view.value === view}
                  onClick={() => preview.setView(view)}
                >
                  {formatKey(view)}
                </button>
              ))}
              <span class="soft">{texts.dragToTurn}</span>
            </fieldset>
          )}
        </figcaption>
      </figure>
      {size && schedule.loaded.value && (
        <div class="elevations">
          <Elevation
            address={model.getPictureAddress(byDefault, 'front')}
            title={texts.front}
            version={model.version.value}
            across={texts.width}
            acrossMm={size.widthMm}
            heightMm={size.heightMm}
          />
          <Elevation
            address={model.getPictureAddress(byDefault, 'side')}
            title={texts.side}
            version={model.version.value}
            across={texts.depth}
            acrossMm={size.depthMm}
            heightMm={null}
          />
        </div>
      )}
    </section>
  );
}

interface LivePreviewProps {
  readonly model: ProductModel;
  /** The variant of the still picture; null shows the original model. */
  readonly row: Row | null;
  readonly alt: string;
}

/** A frame for the live preview. A still picture fills it while the preview is in another frame or not available. */
export function LivePreview({ model, row, alt }: LivePreviewProps) {
  const { preview, schedule } = model;
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => preview.showIn(frame.current!), [preview]);
  const isLive = preview.state.value === 'live' && preview.frame.value === frame.current;
  return (
    <div class="live">
      <div class="live-canvas" ref={frame} />
      {!isLive && (
        <div class="live-still">
          {schedule.loaded.value && (
            <Picture address={model.getPictureAddress(row)} alt={alt} version={model.version.value} />
          )}
        </div>
      )}
    </div>
  );
}
