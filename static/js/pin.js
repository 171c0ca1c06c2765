// pin: a hand scanner types a whole label and Enter into whatever has focus. More than six
// characters are no PIN: the field is emptied, nothing is sent, and the page says why.
// Spaces from a paste are dropped.

export default (box) => {
  const input = box.querySelector('input');
  const why = box.querySelector('[data-long]');

  const tooLong = () => input.value.trim().length > 6;

  input.addEventListener('input', () => {
    const tidy = input.value.replace(/\s/g, '');
    if (tidy !== input.value) input.value = tidy;
  });

  input.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter' || !tooLong()) {
      why.hidden = true;
      return;
    }
    event.preventDefault();
    input.value = '';
    why.hidden = false;
  });
};
