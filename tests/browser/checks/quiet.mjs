// The page says nothing to the console, throws nothing, asks nothing of a network, and its own policy forbids it to.
// Every control is used once, so that what they do is heard too.
import { onPage } from '../browser.mjs';

export const title = 'no message, no request, a policy';

export async function check(report, say) {
  await onPage(report, {}, async (page) => {
    const policies = await page
      .locator('meta[http-equiv="Content-Security-Policy" i]')
      .evaluateAll((all) => all.map((one) => one.content));
    if (!policies.some((policy) => /(^|;)\s*default-src\s+'none'\s*(;|$)/.test(policy))) {
      say.fails(`no meta policy with default-src 'none'; found: ${policies.join(' | ') || 'none'}`);
    }
    await page.evaluate(() => {
      for (const control of document.querySelectorAll(
        'button, input[type=checkbox], input[type=radio], summary',
      )) {
        control.click();
      }
      for (const select of document.querySelectorAll('select')) {
        for (const option of select.options) {
          select.value = option.value;
          select.dispatchEvent(new Event('input', { bubbles: true }));
          select.dispatchEvent(new Event('change', { bubbles: true }));
        }
      }
      scrollTo(0, document.documentElement.scrollHeight);
    });
    await page.waitForTimeout(300);
  });
  for (const line of new Set(report.heard)) say.fails(line);
}
