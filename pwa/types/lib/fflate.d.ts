export * from 'fflate';
