autocmd BufNewFile,BufRead *.leaf setfiletype gearleaf
