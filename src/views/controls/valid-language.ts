/**
 * A browser in a system without a locale can say that its language is "c", which is none: whoever asks for a number
 * format in it, as the plots do when they are fetched, fails. Such a browser speaks English here.
 */
export function ensureValidLanguage(): void {
  try {
    Intl.getCanonicalLocales(navigator.language);
  } catch {
    Object.defineProperty(navigator, 'language', { value: 'en', configurable: true });
  }
}
