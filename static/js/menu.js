// menu: Escape, or a tap outside, closes the open menu.

export default (details) => {
  addEventListener('keydown', (event) => {
    if (event.key !== 'Escape' || !details.open) return;
    details.open = false;
    details.querySelector('summary').focus();
  });
  addEventListener('click', (event) => {
    if (!details.contains(event.target)) details.open = false;
  });
};
