import { useSignal } from '@preact/signals';
import { Field, Select } from '../../../parts/form.tsx';
import { type Embedded, writePage, writePictures, writeViewer } from '../../../parts/write-embed.ts';
import { embedTexts as texts } from '../../../texts/embed.ts';
import type { FilesModel } from './files-model.ts';

/** Markup that puts the newest delivery on a shop's page. */
export function EmbedSection({ model, name }: { readonly model: FilesModel; readonly name: string }) {
  return (
    <details
      class="fold no-print embed"
      onToggle={(event) => {
        if (event.currentTarget.open) void model.load();
      }}
    >
      <summary>
        <h3>{texts.heading}</h3>
      </summary>
      {model.manifest.value && <Markup model={model} name={name} />}
    </details>
  );
}

function Markup({ model, name }: { readonly model: FilesModel; readonly name: string }) {
  const address = useSignal<'own' | 'current'>('own');
  const embedded: Embedded = {
    origin: location.origin,
    product: model.product,
    delivery: address.value === 'current' ? 'current' : model.delivery.value!.delivery,
    name,
    variant: model.manifest.value!.default,
  };
  const page = writePage(embedded);
  return (
    <div class="forms">
      <p class="small soft">{texts.intro}</p>
      <Field inline name={texts.address}>
        <Select<'own' | 'current'>
          label={texts.address}
          value={address.value}
          options={[
            ['own', texts.addresses.own],
            ['current', texts.addresses.current],
          ]}
          onPick={(picked) => {
            address.value = picked;
          }}
        />
      </Field>
      <Snippet {...texts.viewer} markup={writeViewer(embedded)} />
      <Snippet {...texts.pictures} markup={writePictures(embedded)} />
      <Snippet {...texts.page} markup={page} file={`${model.product}.html`} />
    </div>
  );
}

interface SnippetProps {
  readonly name: string;
  readonly note: string;
  readonly markup: string;
  /** Name of the file to download. */
  readonly file?: string;
}

function Snippet({ name, note, markup, file }: SnippetProps) {
  const said = useSignal('');
  return (
    <section class="delivered-form" aria-label={name}>
      <div class="form-head">
        <h4>{name}</h4>
        <button
          type="button"
          onClick={async () => {
            const isDone = await copy(markup);
            said.value = isDone ? texts.copied(name) : texts.cannotCopy;
          }}
        >
          {texts.copy}
          <span class="unseen">{texts.copyOf(name)}</span>
        </button>
        {file !== undefined && (
          <a class="button" href={`data:text/html;charset=utf-8,${encodeURIComponent(markup)}`} download={file}>
            {texts.download}
            <span class="unseen">{texts.copyOf(name)}</span>
          </a>
        )}
      </div>
      <p class="small soft">{note}</p>
      <textarea class="markup" aria-label={texts.markup(name)} readOnly rows={4} spellcheck={false} value={markup} />
      <p class="small soft" role="status">
        {said.value}
      </p>
    </section>
  );
}

async function copy(text: string): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}
