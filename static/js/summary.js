// summary: the list of what is wrong with a form takes focus, so that it is read out first and
// a keyboard stands at its links; a link moves focus into the field, or into the first choice
// of a group.

export default (box) => {
  box.focus();
  box.addEventListener('click', (event) => {
    const link = event.target.closest('a[href^="#"]');
    const target = link && document.getElementById(link.hash.slice(1));
    const field = target?.matches('fieldset') ? target.querySelector('input') : target;
    if (!field) return;
    event.preventDefault();
    target.scrollIntoView({ block: 'start' });
    field.focus({ preventScroll: true });
  });
};
