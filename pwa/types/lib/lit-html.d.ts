export * from 'lit-html';
