"""The source changed on purpose, one small change at a time: which does no test notice?"""
