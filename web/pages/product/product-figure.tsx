import type { View } from '../../../server/core/picture/picture.ts';
import { formatKey } from '../../format.ts';
import { Picture } from '../../parts/picture.tsx';
import { Elevation } from './elevation.tsx';
import { LivePlace } from './live-place.tsx';
import type { ProductModel } from './product-model.ts';
import { addressStill } from './still-address.ts';

const VIEWS: readonly View[] = ['front', 'three-quarter', 'side', 'back', 'top'];

/** The product: live, in the variant that is selected, and beside it the dimensioned views. */
export function ProductFigure({ model }: { readonly model: ProductModel }) {
  const { preview, schedule } = model;
  const row = schedule.selectedRow.value;
  const { rows, defaultKey } = schedule.saved.value;
  const byDefault = rows.find(({ key }) => key === defaultKey) ?? null;
  const size = model.survey.value?.size ?? null;
  const still = preview.state.value === 'still';
  return (
    <section class="figure-sheet" aria-label="The product">
      <figure class="main-figure">
        <LivePlace preview={preview}>
          {schedule.loaded.value && (
            <Picture
              address={addressStill(model, row)}
              alt={row ? `In ${row.name}` : 'As the model is'}
              version={model.version.value}
            />
          )}
        </LivePlace>
        <figcaption>
          <p>
            <span class="strong">{row ? row.name : 'As the model is'}</span>{' '}
            {row && <span class="code soft">{row.code}</span>}
          </p>
          {still ? (
            <p class="soft">{preview.trouble.value}</p>
          ) : (
            <fieldset class="views no-print">
              <legend class="unseen">View</legend>
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
              <span class="soft">Drag to turn</span>
            </fieldset>
          )}
        </figcaption>
      </figure>
      {size && schedule.loaded.value && (
        <div class="elevations">
          <Elevation
            address={addressStill(model, byDefault, 'front')}
            title="Front"
            version={model.version.value}
            across="Width"
            acrossMm={size.widthMm}
            heightMm={size.heightMm}
          />
          <Elevation
            address={addressStill(model, byDefault, 'side')}
            title="Side"
            version={model.version.value}
            across="Depth"
            acrossMm={size.depthMm}
            heightMm={null}
          />
        </div>
      )}
    </section>
  );
}
