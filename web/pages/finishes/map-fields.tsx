import { useEffect, useRef } from 'preact/hooks';
import type { Tile } from '../../../server/core/finish/finish.ts';
import type { MapUse } from '../../../server/core/finish/map-facts.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FileAnswer } from '../../../server/http/contracts/image-file.ts';
import { formatBytes } from '../../format.ts';
import { FindingList } from '../../parts/finding-list.tsx';
import { Notice } from '../../parts/notice.tsx';
import { TextField } from '../../parts/text-field.tsx';
import { describeArticle } from './describe-article.ts';
import type { FinishForm } from './finish-form.ts';
import type { FinishesModel } from './finishes-model.ts';
import { getImageAddress, IMAGE_ENDINGS, type MapsModel } from './maps-model.ts';
import { RepeatDrawing } from './repeat-drawing.tsx';

const USES: readonly (readonly [MapUse, string])[] = [
  ['colour', 'Colour map'],
  ['normal', 'Normal map'],
  ['roughness', 'Roughness map'],
];

/** Which map the repeat is drawn with: the first there is, those that show their pattern to the eye before others. */
const DRAWN: readonly MapUse[] = ['colour', 'roughness', 'normal'];

/** The maps with what is said of them, the repeat they make, and what the article carries of both. */
export function MapFields({ model }: { readonly model: FinishesModel }) {
  const form = model.form.value;
  const article = model.articles.value.find((candidate) => candidate.article === form.article) ?? null;
  const draft = model.shown.value;
  const files = model.maps.files.value;
  useEffect(() => {
    void model.maps.look([...Object.values(form.maps), ...Object.values(article?.maps ?? {})]);
  }, [model, form.maps, article]);
  const tile = draft?.resolved.tile ?? null;
  const drawn = DRAWN.map((use) => form.maps[use] || article?.maps?.[use]).find(
    (sha256) => sha256 && isShown(files.get(sha256)),
  );
  return (
    <div class="whole maps-sheet">
      {article && (
        <div class="measure">
          <p>The article {article.name} carries:</p>
          {describeArticle(article).map((line) => (
            <p key={line} class="soft">
              {line}
            </p>
          ))}
        </div>
      )}
      <ul class="maps">
        {USES.map(([use, title]) => (
          <MapRow
            key={use}
            title={title}
            use={use}
            maps={model.maps}
            own={form.maps[use]}
            shared={article?.maps?.[use] ?? ''}
            onPut={(sha256) => model.change({ maps: { ...model.form.value.maps, [use]: sha256 } })}
          />
        ))}
      </ul>
      <Notice text={model.maps.trouble.value} />
      <div class={tile ? 'repeat-sheet' : ''}>
        <TileFields form={form} tile={tile} change={model.change} />
        {tile && <RepeatDrawing tile={tile} image={drawn ? getImageAddress(drawn) : null} />}
      </div>
    </div>
  );
}

interface TileFieldsProps {
  readonly form: FinishForm;
  /** What holds where nothing is given. */
  readonly tile: Tile | null;
  readonly change: FinishesModel['change'];
}

function TileFields({ form, tile, change }: TileFieldsProps) {
  const instead = (value: number | undefined) => (value === undefined ? '' : String(value));
  return (
    <div class={tile ? 'tile' : 'form'}>
      <TextField
        name="Repeat across, mm"
        value={form.widthMm}
        instead={instead(tile?.widthMm)}
        figure
        onInput={(widthMm) => change({ widthMm })}
      />
      <TextField
        name="Repeat up, mm"
        value={form.heightMm}
        instead={instead(tile?.heightMm)}
        figure
        onInput={(heightMm) => change({ heightMm })}
      />
      <TextField
        name="Direction, degrees"
        value={form.grainDegrees}
        instead={tile ? instead(tile.grainDegrees ?? 0) : ''}
        figure
        onInput={(grainDegrees) => change({ grainDegrees })}
      />
      {!tile && <p class="whole small soft">A repeat is drawn as soon as there is a map.</p>}
    </div>
  );
}

interface MapRowProps {
  readonly title: string;
  readonly use: MapUse;
  readonly maps: MapsModel;
  /** Digest of the finish's own; empty for none. */
  readonly own: string;
  /** Digest of the article's; empty for none. */
  readonly shared: string;
  readonly onPut: (sha256: string) => void;
}

function MapRow({ title, use, maps, own, shared, onPut }: MapRowProps) {
  const field = useRef<HTMLInputElement>(null);
  const sha256 = own || shared;
  const file = maps.files.value.get(sha256);
  const take = async (chosen: File) => {
    const taken = await maps.upload(chosen);
    if (taken) onPut(taken.sha256);
  };
  return (
    <li class={sha256 ? '' : 'none'}>
      {isShown(file) ? (
        <img src={getImageAddress(sha256)} alt={`${title}, ${own ? 'of this finish' : 'of the article'}`} />
      ) : (
        <span class="chip none" aria-hidden="true" />
      )}
      <div>
        <p>
          <span class="strong">{title}</span>
          <span class="soft">{sha256 ? `, ${own ? 'its own' : 'the article’s'}` : ': none'}</span>
        </p>
        {file && <p class="small soft">{describeFile(file)}</p>}
        <p class="actions no-print">
          <button type="button" disabled={maps.busy.value} onClick={() => field.current?.click()}>
            {sha256 ? 'Another image' : 'Choose an image'}
            <span class="unseen"> as the {title.toLowerCase()}</span>
          </button>
          {own && (
            <button type="button" onClick={() => onPut('')}>
              {shared ? 'Back to the article’s' : 'Take it off'}
              <span class="unseen">: {title.toLowerCase()}</span>
            </button>
          )}
        </p>
        <input
          ref={field}
          type="file"
          class="unseen"
          tabIndex={-1}
          aria-label={`File of the ${title.toLowerCase()}`}
          accept={IMAGE_ENDINGS}
          onChange={(event) => {
            const chosen = event.currentTarget.files?.[0];
            event.currentTarget.value = '';
            if (chosen) void take(chosen);
          }}
        />
      </div>
      {file && <MapFindings findings={[...file.uses[use], ...file.findings]} />}
    </li>
  );
}

function MapFindings({ findings }: { readonly findings: readonly Finding[] }) {
  if (findings.length === 0) return <p class="small soft">Nothing to remark.</p>;
  return <FindingList findings={findings} />;
}

/** Browsers show no KTX2. */
function isShown(file: FileAnswer | undefined): boolean {
  return file !== undefined && file.mimeType !== 'image/ktx2';
}

function describeFile({ widthPx, heightPx, mimeType, bytes }: FileAnswer): string {
  return `${widthPx} × ${heightPx} px, ${mimeType.replace('image/', '').toUpperCase()}, ${formatBytes(bytes)}`;
}
