import './styles/index.css';
import { render } from 'preact';
import { FinishesPage } from './pages/finishes/finishes-page.tsx';
import { HomePage } from './pages/home/home-page.tsx';
import { ImportPage } from './pages/import/import-page.tsx';
import { LinePage } from './pages/line/line-page.tsx';
import { PictureSetsPage } from './pages/picture-sets/picture-sets-page.tsx';
import { ProductPage } from './pages/product/product-page.tsx';
import { Heading, Shell, TokenForm } from './parts/shell.tsx';
import { route, startRouter } from './router.ts';
import { commonTexts } from './texts/common.ts';

function Page() {
  const now = route.value;
  switch (now.page) {
    case 'home':
      return <HomePage />;
    case 'product':
      return <ProductPage key={now.code} code={now.code} />;
    case 'line':
      return <LinePage key={now.code} code={now.code} />;
    case 'finishes':
      return <FinishesPage />;
    case 'import':
      return <ImportPage />;
    case 'picture-sets':
      return <PictureSetsPage />;
    case 'missing':
      return (
        <>
          <Heading text={commonTexts.shell.missingPage} />
          <p>
            <a href="/">{commonTexts.shell.home}</a>
          </p>
        </>
      );
  }
}

startRouter();
render(
  <Shell>
    <TokenForm />
    <Page />
  </Shell>,
  document.getElementById('page')!,
);
